//! Text or rows for many items, made on all threads and written in order. Items come in by
//! number, bytes go out to any writer. Knows nothing of what the items are.

use std::io::{self, Write};
use std::ops::Range;

use rayon::prelude::*;

/// Parts that are made at once, for each thread.
const PARTS_A_THREAD: usize = 4;

/// Writes the text of items `0..items` in order. `fill` appends that of a range of at
/// most `part` items to a buffer. The next parts are made while the last are written;
/// no more than a few parts for each thread are held.
///
/// # Errors
/// The first failure of a part, in order, or that of the writer. What stands before it
/// may have been written.
///
/// # Examples
/// ```
/// use std::io::Write;
/// use groundfit::in_order::write_in_order;
///
/// let mut out = Vec::new();
/// write_in_order(&mut out, 5, 2, |range, text| {
///     range.into_iter().try_for_each(|item| write!(text, "{item} "))
/// })?;
/// assert_eq!(out, b"0 1 2 3 4 ");
/// # Ok::<(), std::io::Error>(())
/// ```
pub fn write_in_order<W: Write + Send>(
    out: &mut W,
    items: usize,
    part: usize,
    fill: impl Fn(Range<usize>, &mut Vec<u8>) -> io::Result<()> + Sync,
) -> io::Result<()> {
    let part = part.max(1);
    let at_once = part * PARTS_A_THREAD * rayon::current_num_threads();
    let make = |start: usize, buffers: &mut Vec<Vec<u8>>| -> io::Result<()> {
        let end = items.min(start.saturating_add(at_once));
        buffers.resize_with((end - start.min(end)).div_ceil(part), Vec::new);
        let made: Vec<io::Result<()>> = buffers
            .par_iter_mut()
            .with_max_len(1)
            .enumerate()
            .map(|(number, text)| {
                let from = start + number * part;
                text.clear();
                fill(from..end.min(from + part), text)
            })
            .collect();
        made.into_iter().collect()
    };
    let (mut ready, mut next) = (Vec::new(), Vec::new());
    make(0, &mut ready)?;
    for start in (at_once..).step_by(at_once) {
        if ready.is_empty() {
            break;
        }
        let (written, made) = rayon::join(
            || ready.iter().try_for_each(|text| out.write_all(text)),
            || make(start, &mut next),
        );
        written.and(made)?;
        std::mem::swap(&mut ready, &mut next);
    }
    Ok(())
}

/// Hands what `make` gives for items `0..items` to `take`, `part` items at a time and in
/// order. `take` runs on the thread that calls, whichever that is; the next part is made
/// on the other threads meanwhile.
///
/// # Errors
/// The first failure of `take`.
pub fn take_in_order<T: Send, E>(
    items: usize,
    part: usize,
    make: impl Fn(Range<usize>) -> T + Sync,
    mut take: impl FnMut(T) -> Result<(), E>,
) -> Result<(), E> {
    let part = part.max(1);
    let range = |start: usize| start..items.min(start + part);
    let mut ready = (items > 0).then(|| make(range(0)));
    for start in (part..).step_by(part) {
        let Some(now) = ready.take() else { break };
        rayon::in_place_scope(|scope| {
            if start < items {
                scope.spawn(|_| ready = Some(make(range(start))));
            }
            take(now)
        })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_is_written_once_and_in_order() {
        for items in [0, 1, 7, 64, 1000] {
            for part in [0, 1, 3, 2000] {
                let mut out = Vec::new();
                write_in_order(&mut out, items, part, |range, text| {
                    assert!(!range.is_empty());
                    range.into_iter().try_for_each(|item| writeln!(text, "{item}"))
                })
                .unwrap();
                let text = String::from_utf8(out).unwrap();
                let found: Vec<usize> = text.lines().map(|line| line.parse().unwrap()).collect();
                assert!(found.into_iter().eq(0..items));
            }
        }
    }

    #[test]
    fn every_part_is_taken_once_in_order_and_on_one_thread() {
        let here = std::thread::current().id();
        for items in [0, 1, 7, 64] {
            for part in [0, 1, 3, 2000] {
                let mut found = Vec::new();
                let taken: Result<(), ()> = take_in_order(items, part, Vec::from_iter, |made| {
                    assert_eq!(std::thread::current().id(), here);
                    found.extend(made);
                    Ok(())
                });
                taken.unwrap();
                assert!(found.into_iter().eq(0..items));
            }
        }
        let failed = take_in_order(
            9,
            2,
            |range| range.start,
            |start| if start < 4 { Ok(()) } else { Err(start) },
        );
        assert_eq!(failed, Err(4));
    }

    #[test]
    fn the_first_failure_is_told() {
        let failed = write_in_order(&mut Vec::new(), 100, 1, |range, _| {
            if range.start < 20 {
                return Ok(());
            }
            Err(io::Error::other(format!("item {}", range.start)))
        });
        assert_eq!(failed.unwrap_err().to_string(), "item 20");
        let full = write_in_order(&mut (&mut [0u8; 3][..]), 100, 1, |_, text| text.write_all(b"ab"));
        assert_eq!(full.unwrap_err().kind(), io::ErrorKind::WriteZero);
    }
}
