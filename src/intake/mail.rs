//! Photos in mails: attached, or pictures in the text. Every photo is an entry of its own, since whether two of them
//! show the same motor the mail does not say; all of them share the mail's identity, sender and subject. A mail
//! without any photo is kept as a row with the reason, and of one that could not be taken apart to its end it is said.

use super::Limits;
use super::kind::{HEAD, Kind};
use super::walk::{Go, Origin, Walk};
use crate::photo::{MediaType, measure};
use crate::store::{SourceKind, sha256};
use mail_parser::{Address, Encoding, Message, MessageParser, MessagePart, MimeHeaders, PartType};

/// Longest list of things left out.
const LISTED: usize = 10;

/// Takes what is in a mail.
pub(super) fn message(walk: &mut Walk<'_>, bytes: &[u8], origin: &Origin) -> Go {
    let parsed = MessageParser::default().parse(bytes);
    let Some(message) = parsed.filter(|message| !message.headers().is_empty()) else {
        let mut here = origin.clone();
        here.detail.message.get_or_insert(sha256(bytes));
        let what = "is no mail: it has no head. Save it again from the mail program";
        return walk.refuse(&here, "", "not_a_mail", what);
    };
    let (rows, said) = (walk.rows, walk.said.len());
    to_its_end(walk, &message, origin)?;
    parts(walk, &message, origin)?;
    let outermost = origin.detail.message.is_none();
    if !outermost || walk.rows > rows {
        return Go::Continue(());
    }
    let here = named(&message, origin);
    let mut why = walk.said[said..].to_vec();
    why.extend(here.detail.note.clone());
    let what = format!(
        "no photo is in this mail{}{}. Ask the sender for a photo of the plate",
        if why.is_empty() { "" } else { "; " },
        why.join("; ")
    );
    walk.refuse(&here, &subject_of(&here), "no_photo", &what)
}

/// Notes a mail that is too large to be taken, by its first lines.
pub(super) fn too_large(walk: &mut Walk<'_>, head: &[u8], origin: &Origin) -> Go {
    let here = match MessageParser::default().parse_headers(head) {
        Some(message) => named(&message, origin),
        None => {
            let mut here = origin.clone();
            here.detail.message.get_or_insert(sha256(head));
            here
        }
    };
    let what = format!(
        "this mail is larger than {} MiB and was not taken. Save its photos into a folder, and give that",
        walk.limits.nested_bytes >> 20
    );
    walk.refuse(&here, &subject_of(&here), "too_large", &what)
}

fn subject_of(origin: &Origin) -> String {
    origin.detail.subject.clone().unwrap_or_default()
}

/// What the entries of a mail say of it.
fn named(message: &Message<'_>, origin: &Origin) -> Origin {
    let mut here = origin.inner(SourceKind::Mail, "");
    let detail = &mut here.detail;
    detail.sender = sender(message).or(detail.sender.take());
    detail.subject = message
        .subject()
        .map(one_line)
        .filter(|subject| !subject.is_empty())
        .or(detail.subject.take());
    // A mail in a mail came with the outer one.
    detail.message.get_or_insert_with(|| identity(message));
    let left: Vec<String> = message.parts.iter().filter_map(left_out).collect();
    if !left.is_empty() {
        let more = left.len().saturating_sub(LISTED);
        let mut note = format!("left out: {}", left[..left.len() - more].join(", "));
        if more > 0 {
            note.push_str(&format!(" and {more} more"));
        }
        detail.note = Some(note);
    }
    here
}

/// What a mail calls itself (RFC 5322, 3.6.4), or the hash of its text, in which line ends do not count.
fn identity(message: &Message<'_>) -> String {
    match message.message_id().map(one_line) {
        Some(id) if !id.is_empty() => id,
        _ => {
            let plain: Vec<u8> = message
                .raw_message
                .iter()
                .copied()
                .filter(|c| *c != b'\r')
                .collect();
            sha256(plain.trim_ascii_end())
        }
    }
}

fn parts(walk: &mut Walk<'_>, message: &Message<'_>, origin: &Origin) -> Go {
    if origin.depth > walk.limits.depth {
        let what = "mails lie in mails too deep. Save the one with the photos by itself";
        return walk.trouble(&origin.detail.origin, "too_deep", what);
    }
    let here = named(message, origin);
    for part in &message.parts {
        if let PartType::Message(inner) = &part.body {
            // One that was packed for the way is a text of its own.
            if part.encoding != Encoding::None {
                to_its_end(walk, inner, &here)?;
            }
            parts(walk, inner, &here)?;
        } else if let Some((name, kind, bytes)) = attached(part)
            && kind != Kind::Other
            && decoration(part, kind, bytes).is_none()
        {
            let mut of = here.clone();
            if !name.is_empty() {
                of.detail.origin = format!("{} > {name}", here.detail.origin);
            }
            walk.bytes(bytes.to_vec(), &name, kind, &of)?;
        }
    }
    Go::Continue(())
}

/// Says so where a part begins behind the last one that was parsed. mail-parser (0.11) loses its place in a mail whose
/// forwarded mail is, by its own head, nothing but a forwarded mail.
fn to_its_end(walk: &mut Walk<'_>, message: &Message<'_>, origin: &Origin) -> Go {
    let (mut boundaries, mut end) = (Vec::new(), 0);
    outline(message, &mut boundaries, &mut end);
    let rest = message.raw_message.get(end..).unwrap_or_default();
    let more = rest
        .split(|c| *c == b'\n')
        .filter_map(|line| line.trim_ascii_end().strip_prefix(b"--"))
        .any(|name| boundaries.iter().any(|b| b.as_bytes() == name));
    if !more {
        return Go::Continue(());
    }
    let what = "a part of this mail could not be taken apart, and what stands behind it was not read. \
                Save the mail's photos into a folder, and give that";
    walk.trouble(&origin.detail.origin, "unread_parts", what)
}

/// The boundaries between a mail's parts (RFC 2046, 5.1.1), and where the last part with content of its own ends.
fn outline<'m>(message: &'m Message<'_>, boundaries: &mut Vec<&'m str>, end: &mut usize) {
    for part in &message.parts {
        let stated = part.content_type().and_then(|t| t.attribute("boundary"));
        match &part.body {
            PartType::Multipart(_) => boundaries.extend(stated),
            PartType::Message(inner) if part.encoding == Encoding::None => {
                outline(inner, boundaries, end);
            }
            _ => *end = (*end).max(part.offset_end as usize),
        }
    }
}

/// Name, kind and content of what is attached, or stands in the text.
fn attached<'m>(part: &'m MessagePart<'_>) -> Option<(String, Kind, &'m [u8])> {
    let (PartType::Binary(bytes) | PartType::InlineBinary(bytes)) = &part.body else {
        return None;
    };
    let name = one_line(part.attachment_name().unwrap_or_default());
    let kind = Kind::of(&name, &bytes[..bytes.len().min(HEAD)]);
    Some((name, kind, bytes))
}

/// What of a mail is not taken, and why, in a few words.
fn left_out(part: &MessagePart<'_>) -> Option<String> {
    let (name, kind, bytes) = attached(part)?;
    let name = match name.as_str() {
        "" => "a part without name",
        name => name,
    };
    match (kind, decoration(part, kind, bytes)) {
        (Kind::Other, _) => Some(format!("{name} (not a photo that can be read here)")),
        (_, Some((w, h))) => Some(format!("{name} (a picture of {w} × {h} pixels)")),
        _ => None,
    }
}

/// No plate can be read from a picture whose shorter side has fewer pixels than this: its lines of text, five at
/// least, would be lower than ten pixels each.
const UNREADABLE: u32 = 48;
/// In the text of a mail, pictures whose shorter side is below this are the sender's logo, icons and lines. What is
/// meant as a photo has more, also from an old phone (320 × 240).
const LOGO: u32 = 160;

/// The size of a picture that decorates a mail and is no photo of a plate: logos of a signature, icons, tracking
/// pixels.
fn decoration(part: &MessagePart<'_>, kind: Kind, bytes: &[u8]) -> Option<(u32, u32)> {
    let Kind::Photo(media) = kind else {
        return None;
    };
    // Its size is known only when it is decoded, and nobody decorates with it.
    if media == MediaType::Heic {
        return None;
    }
    let in_text = matches!(part.body, PartType::InlineBinary(_)) || part.content_id().is_some();
    let least = if in_text { LOGO } else { UNREADABLE };
    // One that is damaged is not known to be small: it becomes an entry that says what is wrong with it.
    let (w, h) = measure(bytes, &Limits::default().photo).ok()?;
    (w.min(h) < least).then_some((w, h))
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
