//! What a file is, by its first bytes and, where these say nothing, by its name.

use crate::photo::MediaType;

/// So many bytes tell.
pub(super) const HEAD: usize = 16;

/// What is to be done with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A photo, or a file that is called one: then reading it says what is wrong with it.
    Photo(MediaType),
    Zip,
    Mail,
    Mailbox,
    Pdf,
    /// Nothing that a nameplate could be on, as far as this program knows.
    Other,
}

impl Kind {
    pub(super) fn of(name: &str, head: &[u8]) -> Kind {
        // What a file manager writes beside each photo: called like it, and none.
        if name.starts_with("._") {
            return Kind::Other;
        }
        if let Some(media) = MediaType::of(head) {
            return Kind::Photo(media);
        }
        if head.starts_with(b"%PDF-") {
            return Kind::Pdf;
        }
        let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
        match ending.to_ascii_lowercase().as_str() {
            "zip" => Kind::Zip,
            "eml" => Kind::Mail,
            "mbox" | "mbx" => Kind::Mailbox,
            "pdf" => Kind::Pdf,
            "" if head.starts_with(b"From ") => Kind::Mailbox,
            _ => MediaType::of_name(name).map_or(Kind::Other, Kind::Photo),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_tells_first_and_the_name_where_it_cannot() {
        let jpeg = &b"\xFF\xD8\xFF\xE0"[..];
        for (name, head, expected) in [
            ("a.jpg", jpeg, Kind::Photo(MediaType::Jpeg)),
            ("a.txt", jpeg, Kind::Photo(MediaType::Jpeg)),
            ("no-ending", jpeg, Kind::Photo(MediaType::Jpeg)),
            ("empty.PNG", b"", Kind::Photo(MediaType::Png)),
            ("page.heic", b"<html>", Kind::Photo(MediaType::Heic)),
            ("a.zip", b"PK\x03\x04", Kind::Zip),
            ("a.xlsx", b"PK\x03\x04", Kind::Other),
            ("a.eml", b"Received: from", Kind::Mail),
            ("inbox", b"From kim@exampl", Kind::Mailbox),
            ("inbox.mbox", b"", Kind::Mailbox),
            ("scan", b"%PDF-1.7", Kind::Pdf),
            ("scan.pdf", b"", Kind::Pdf),
            ("._a.jpg", b"\0\x05\x16\x07", Kind::Other),
            ("notes.txt", b"From here on", Kind::Other),
        ] {
            assert_eq!(Kind::of(name, head), expected, "{name}");
        }
    }
}
