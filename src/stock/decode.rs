//! From the bytes of a list to its text: UTF-8, UTF-16, or the code page of old spreadsheets.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// The text of a list; `None` when the bytes are no text.
pub(super) fn text(bytes: &[u8]) -> Option<String> {
    let encoding = match Encoding::for_bom(bytes) {
        Some((encoding, _)) => encoding,
        None => unmarked(bytes),
    };
    let (text, _, damaged) = encoding.decode(bytes);
    // UTF-8 that turned out damaged was never chosen; damaged UTF-16 is not text.
    (!damaged && !looks_binary(&text)).then(|| text.into_owned())
}

/// The encoding of text that does not say it: half the bytes of UTF-16 are zero in such lists, and what is
/// no valid UTF-8 comes from a Windows spreadsheet.
fn unmarked(bytes: &[u8]) -> &'static Encoding {
    let head = &bytes[..bytes.len().min(4096)];
    let zeros = |offset: usize| {
        head.iter()
            .skip(offset)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd) = (zeros(0), zeros(1));
    let many = head.len() / 4;
    if odd > many && even == 0 {
        UTF_16LE
    } else if even > many && odd == 0 {
        UTF_16BE
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else {
        WINDOWS_1252
    }
}

/// Control characters other than line ends, tabs and the end-of-file mark of old programs.
fn looks_binary(text: &str) -> bool {
    text.chars().any(|c| {
        c.is_control() && !matches!(c, '\t' | '\n' | '\r' | '\u{1a}' | '\u{80}'..='\u{9f}')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_encodings_are_understood() {
        let list = "sku;capacitor_uf\nA-1;7,5 µF\n";
        let utf16 =
            |order: fn(u16) -> [u8; 2]| list.encode_utf16().flat_map(order).collect::<Vec<u8>>();
        let with_mark = |mark: &[u8], body: Vec<u8>| [mark, &body].concat();
        let windows: Vec<u8> = list
            .chars()
            .map(|c| u8::try_from(u32::from(c)).unwrap())
            .collect();
        for (name, bytes) in [
            ("UTF-8", list.as_bytes().to_vec()),
            (
                "UTF-8 with mark",
                with_mark(b"\xef\xbb\xbf", list.as_bytes().to_vec()),
            ),
            (
                "UTF-16 LE with mark",
                with_mark(b"\xff\xfe", utf16(u16::to_le_bytes)),
            ),
            (
                "UTF-16 BE with mark",
                with_mark(b"\xfe\xff", utf16(u16::to_be_bytes)),
            ),
            ("UTF-16 LE", utf16(u16::to_le_bytes)),
            ("UTF-16 BE", utf16(u16::to_be_bytes)),
            ("Windows-1252", windows),
        ] {
            assert_eq!(text(&bytes).as_deref(), Some(list), "{name}");
        }
    }

    #[test]
    fn pictures_are_no_text() {
        assert_eq!(text(b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x00\x00"), None);
        assert_eq!(text(b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x02"), None);
    }
}
