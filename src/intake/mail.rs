//! Photos in mails: attached, or pictures in the text. Each photo keeps who sent it and under which subject. Every
//! photo is an entry of its own: whether two of them show the same motor, the mail does not say.

use super::kind::{HEAD, Kind};
use super::walk::{Go, Origin, Walk};
use crate::store::SourceKind;
use mail_parser::mailbox::mbox::MessageIterator;
use mail_parser::{Address, Message, MessageParser, MimeHeaders, PartType};
use std::io::BufRead;

/// Goes through a mailbox, message by message.
pub(super) fn mailbox(walk: &mut Walk<'_>, file: impl BufRead, origin: &Origin) -> Go {
    for (number, message) in MessageIterator::new(file).enumerate() {
        match message {
            Ok(found) => {
                let mut inner = origin.clone();
                inner.detail.origin = format!("{} > message {}", origin.detail.origin, number + 1);
                self::message(walk, found.contents(), &inner)?;
            }
            Err(error) => return walk.failed(origin.detail.origin.clone(), &error),
        }
    }
    Go::Continue(())
}

/// Takes the photos of a message.
pub(super) fn message(walk: &mut Walk<'_>, bytes: &[u8], origin: &Origin) -> Go {
    match MessageParser::default().parse(bytes) {
        Some(message) if !message.headers().is_empty() => parts(walk, &message, origin),
        _ => walk.trouble(
            &origin.detail.origin,
            "not_a_mail",
            "is no mail: it has no head. Save it again from the mail program",
        ),
    }
}

fn parts(walk: &mut Walk<'_>, message: &Message<'_>, origin: &Origin) -> Go {
    if origin.depth > walk.limits.depth {
        let what = "mails lie in mails too deep. Save the one with the photos by itself";
        return walk.trouble(&origin.detail.origin, "too_deep", what);
    }
    let mut here = origin.inner(SourceKind::Mail, "");
    here.detail.sender = sender(message).or(here.detail.sender);
    here.detail.subject = message
        .subject()
        .map(one_line)
        .filter(|subject| !subject.is_empty())
        .or(here.detail.subject);
    for part in &message.parts {
        match &part.body {
            PartType::Message(inner) => parts(walk, inner, &here)?,
            PartType::Binary(bytes) | PartType::InlineBinary(bytes) => {
                let name = one_line(part.attachment_name().unwrap_or_default());
                let kind = Kind::of(&name, &bytes[..bytes.len().min(HEAD)]);
                // What else is attached (signatures, cards, contracts) is nobody's loss.
                if kind != Kind::Other {
                    let mut of = here.clone();
                    if !name.is_empty() {
                        of.detail.origin = format!("{} > {name}", here.detail.origin);
                    }
                    walk.bytes(bytes.to_vec(), &name, kind, &of)?;
                }
            }
            _ => {}
        }
    }
    Go::Continue(())
}

/// Who sent it: name and address.
fn sender(message: &Message<'_>) -> Option<String> {
    let from: &Address<'_> = message.from()?;
    let first = from.first()?;
    let text = match (first.name(), first.address()) {
        (Some(name), Some(address)) => format!("{name} <{address}>"),
        (Some(one), None) | (None, Some(one)) => one.to_owned(),
        (None, None) => return None,
    };
    Some(one_line(&text))
}

/// Text from outside as one line without control characters, not too long to be shown.
fn one_line(text: &str) -> String {
    let plain: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    plain
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .chars()
        .take(300)
        .collect()
}
