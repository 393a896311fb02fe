//! Changes to bytes that make input nobody would write, from a fixed seed, so that a
//! failure comes again.

/// Numbers that look random, always the same for a seed (splitmix64: Steele, Lea and
/// Flood, Fast splittable pseudorandom number generators, 2014).
pub struct Seeded {
    state: u64,
}

impl Seeded {
    pub fn new(seed: u64) -> Seeded {
        Seeded { state: seed }
    }

    pub fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below another.
    #[expect(clippy::cast_possible_truncation, reason = "the remainder is small")]
    pub fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit.max(1) as u64) as usize
    }

    pub fn one_of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }

    fn byte(&mut self) -> u8 {
        self.next().to_le_bytes()[0]
    }
}

/// How many inputs a test makes: the usual number, times `GROUNDFIT_FUZZ_TIMES` for a
/// longer search by hand.
pub fn rounds(usual: usize) -> std::ops::Range<usize> {
    let times = std::env::var("GROUNDFIT_FUZZ_TIMES").map_or(1, |times| times.parse().unwrap());
    0..usual * times
}

/// Changes bytes anywhere, as a bad disk or a bad copy would.
pub fn spoil_bytes(bytes: &mut Vec<u8>, seeded: &mut Seeded) {
    for _ in 0..=seeded.below(6) {
        if bytes.is_empty() {
            return;
        }
        let at = seeded.below(bytes.len());
        match seeded.below(8) {
            0..=3 => bytes[at] = seeded.byte(),
            4 => bytes[at] ^= 1 << seeded.below(8),
            5 => bytes.truncate(at),
            6 => {
                let length = seeded.below(40).min(bytes.len() - at);
                bytes.drain(at..at + length);
            }
            _ => {
                let length = seeded.below(40).min(bytes.len() - at);
                let piece = bytes[at..at + length].to_vec();
                let to = seeded.below(bytes.len());
                bytes.splice(to..to, piece);
            }
        }
    }
}

/// Changes a text the way people and programs spoil one: words of it and odd words
/// change places, lines go and come again.
pub fn spoil_text(text: &str, odd: &[&str], seeded: &mut Seeded) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=seeded.below(4) {
        match seeded.below(6) {
            0 | 1 => replace_word(&mut bytes, odd, seeded),
            2 => {
                let word = *seeded.one_of(odd);
                let at = seeded.below(bytes.len() + 1);
                bytes.splice(at..at, word.bytes());
            }
            3 | 4 => change_line(&mut bytes, seeded),
            _ => spoil_bytes(&mut bytes, seeded),
        }
    }
    bytes
}

/// A number or a word in the place of another.
fn replace_word(bytes: &mut Vec<u8>, odd: &[&str], seeded: &mut Seeded) {
    if bytes.is_empty() {
        return;
    }
    let is_word = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'_');
    let from = seeded.below(bytes.len());
    let Some(start) = bytes[from..].iter().position(is_word).map(|start| from + start) else {
        return;
    };
    let start = bytes[..start]
        .iter()
        .rposition(|byte| !is_word(byte))
        .map_or(0, |before| before + 1);
    let length = bytes[start..].iter().position(|byte| !is_word(byte));
    let end = length.map_or(bytes.len(), |length| start + length);
    let word = *seeded.one_of(odd);
    bytes.splice(start..end, word.bytes());
}

fn change_line(bytes: &mut Vec<u8>, seeded: &mut Seeded) {
    let mut lines: Vec<Vec<u8>> = bytes.split(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect();
    let at = seeded.below(lines.len());
    let other = seeded.below(lines.len());
    match seeded.below(3) {
        0 => lines.swap(at, other),
        1 => {
            lines.remove(at);
        }
        _ => lines.insert(at, lines[other].clone()),
    }
    *bytes = lines.join(&b'\n');
}

/// The files of a folder of `tests/corpus`, in order.
pub fn corpus(folder: &str) -> Vec<(std::path::PathBuf, Vec<u8>)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/corpus")
        .join(folder);
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.clone(), std::fs::read(&path).unwrap()))
        .collect();
    files.sort();
    assert!(files.len() >= 3);
    files
}
