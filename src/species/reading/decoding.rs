//! The bytes of a spreadsheet file as text: byte order marks, UTF-16, and the
//! Western European bytes that older spreadsheets write.

use encoding_rs::{Encoding, WINDOWS_1252};

/// Text with single line feeds, and how it was reached.
pub(super) struct Decoded {
    pub(super) text: String,
    /// Line of the first byte that is not UTF-8, when the whole was read as
    /// windows-1252.
    pub(super) not_utf8: Option<u64>,
    /// Line of the first sequence that stands for nothing in its encoding.
    pub(super) broken: Option<u64>,
}

pub(super) fn decode(bytes: &[u8]) -> Decoded {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        let (text, broken) = encoding.decode_without_bom_handling(&bytes[mark..]);
        let text = text.into_owned();
        return Decoded {
            broken: broken.then(|| line_of(&text, text.find('\u{fffd}').unwrap_or(0))),
            text: single_line_feeds(&text),
            not_utf8: None,
        };
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Decoded {
            text: single_line_feeds(text),
            not_utf8: None,
            broken: None,
        },
        Err(error) => {
            let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
            let before = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
            Decoded {
                not_utf8: Some(line_of(&before, before.len())),
                text: single_line_feeds(&text),
                broken: None,
            }
        }
    }
}

/// The line on which byte `at` of `text` stands.
fn line_of(text: &str, at: usize) -> u64 {
    let feeds = single_line_feeds(&text[..at]).matches('\n').count();
    feeds as u64 + 1
}

fn single_line_feeds(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn western_bytes_are_read_and_told() {
        let decoded = decode(b"a,b\r\nAlv\xe9n,\x80\r\n");
        assert_eq!(decoded.text, "a,b\nAlv\u{e9}n,\u{20ac}\n");
        assert_eq!(decoded.not_utf8, Some(2));
    }

    #[test]
    fn byte_order_marks_are_no_text() {
        assert_eq!(decode(b"\xef\xbb\xbfid\n").text, "id\n");
        let utf16: Vec<u8> = [0xfeff_u16]
            .into_iter()
            .chain("id\t\u{e9}\r\n".encode_utf16())
            .flat_map(u16::to_le_bytes)
            .collect();
        assert_eq!(decode(&utf16).text, "id\t\u{e9}\n");
        assert_eq!(decode(&utf16).broken, None);
        assert_eq!(decode(b"\xff\xfei\0\n\0\x00").broken, Some(2));
    }

    #[test]
    fn old_line_ends_count_as_lines() {
        assert_eq!(decode(b"a\rb\r\n\xe9").not_utf8, Some(3));
    }
}
