//! Mailboxes: many mails in one file, each behind a line that begins with `From ` (RFC 4155, quoted as in mboxrd).

use super::mail;
use super::walk::{Go, Origin, Walk};
use std::io::{self, BufRead, Read};

/// Goes through a mailbox, message by message. One that is larger than allowed is noted by its head, and its rest is
/// passed over without being kept.
pub(super) fn open(walk: &mut Walk<'_>, file: impl BufRead, origin: &Origin) -> Go {
    let mut mails = Mails {
        file,
        most: walk.limits.nested_bytes,
        begun: false,
    };
    let mut number = 0;
    loop {
        let mail = match mails.next() {
            Ok(Some(mail)) => mail,
            Ok(None) => return Go::Continue(()),
            Err(error) => return walk.failed(origin.detail.origin.clone(), &error),
        };
        number += 1;
        let mut inner = origin.clone();
        inner.detail.origin = format!("{} > message {number}", origin.detail.origin);
        match mail {
            Mail::Whole(bytes) => mail::message(walk, &bytes, &inner)?,
            Mail::TooLarge(head) => mail::too_large(walk, &head, &inner)?,
        }
    }
}

#[derive(Debug, PartialEq, Eq)]
enum Mail {
    Whole(Vec<u8>),
    /// As much of it as is allowed.
    TooLarge(Vec<u8>),
}

struct Mails<R> {
    file: R,
    most: u64,
    /// Whether the line before the next mail has been read.
    begun: bool,
}

/// Longest piece of a line that is looked at at once.
const LINE: u64 = 64 << 10;

impl<R: BufRead> Mails<R> {
    fn next(&mut self) -> io::Result<Option<Mail>> {
        let mut bytes = Vec::new();
        let mut too_large = false;
        let mut line = Vec::new();
        let mut starts_line = true;
        loop {
            line.clear();
            let read = self.file.by_ref().take(LINE).read_until(b'\n', &mut line)?;
            if read == 0 {
                break;
            }
            let starts = std::mem::replace(&mut starts_line, line.ends_with(b"\n"));
            if starts && line.starts_with(b"From ") {
                if std::mem::replace(&mut self.begun, true) {
                    return Ok(Some(mail(bytes, too_large)));
                }
                continue;
            }
            if !self.begun {
                continue;
            }
            let quoted = starts && {
                let plain = line.iter().position(|c| *c != b'>').unwrap_or(line.len());
                plain > 0 && line[plain..].starts_with(b"From ")
            };
            let line = &line[usize::from(quoted)..];
            too_large |= (bytes.len() + line.len()) as u64 > self.most;
            if !too_large {
                bytes.extend_from_slice(line);
            }
        }
        let last = std::mem::replace(&mut self.begun, false);
        Ok(last.then(|| mail(bytes, too_large)))
    }
}

fn mail(bytes: Vec<u8>, too_large: bool) -> Mail {
    match too_large {
        true => Mail::TooLarge(bytes),
        false => Mail::Whole(bytes),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mails(text: &str, most: u64) -> Vec<Mail> {
        let mut mails = Mails {
            file: text.as_bytes(),
            most,
            begun: false,
        };
        std::iter::from_fn(|| mails.next().unwrap()).collect()
    }

    fn whole(text: &str) -> Mail {
        Mail::Whole(text.into())
    }

    #[test]
    fn mails_are_parted_and_unquoted_and_none_is_larger_than_allowed() {
        for (text, most, expected) in [
            ("", 99, vec![]),
            ("no mailbox at all\n", 99, vec![]),
            ("From a\nx\n", 99, vec![whole("x\n")]),
            (
                "From a\nx\n\nFrom b\ny",
                99,
                vec![whole("x\n\n"), whole("y")],
            ),
            (
                "From a\n>From here\n>>From there\n> cited\n",
                99,
                vec![whole("From here\n>From there\n> cited\n")],
            ),
            (
                "From a\nhead\nbody\nmore\nFrom b\ny\n",
                10,
                vec![Mail::TooLarge(b"head\nbody\n".to_vec()), whole("y\n")],
            ),
            ("From a\nFrom b\n", 99, vec![whole(""), whole("")]),
        ] {
            assert_eq!(mails(text, most), expected, "{text:?}");
        }
    }

    #[test]
    fn a_line_without_end_is_taken_in_pieces() {
        let long = "z".repeat(3 * LINE as usize + 5);
        let text = format!("From a\n{long}From the middle of a line\n");
        assert_eq!(
            mails(&text, 1 << 20),
            vec![whole(&format!("{long}From the middle of a line\n"))]
        );
        assert_eq!(mails(&text, 10), vec![Mail::TooLarge(Vec::new())]);
    }

    proptest::proptest! {
        /// What is written by the rules of mboxrd comes back as it was.
        #[test]
        fn written_and_read_again_mails_are_the_same(
            bodies in proptest::collection::vec("(>{0,2}(From )?[a-z ]{0,6}\n){0,5}", 0..5)
        ) {
            let mut text = String::new();
            for body in &bodies {
                text.push_str("From someone Thu Jan  1 00:00:00 2026\n");
                for line in body.lines() {
                    let quoted = line.trim_start_matches('>').starts_with("From ");
                    text.push_str(if quoted { ">" } else { "" });
                    text.push_str(line);
                    text.push('\n');
                }
            }
            let expected: Vec<Mail> = bodies.iter().map(|body| whole(body)).collect();
            proptest::prop_assert_eq!(mails(&text, 1 << 20), expected);
        }
    }
}
