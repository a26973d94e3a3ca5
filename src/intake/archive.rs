//! Photos in zip files. Nothing is unpacked to the disk, and no name in one is used as a path.

use super::kind::{HEAD, Kind};
use super::walk::{Go, Item, Origin, Walk};
use crate::store::SourceKind;
use std::io::{Read, Seek};
use zip::ZipArchive;
use zip::result::ZipError;

/// Goes through an archive.
pub(super) fn open(walk: &mut Walk<'_>, file: impl Read + Seek, origin: &Origin) -> Go {
    let place = origin.detail.origin.clone();
    let mut archive = match ZipArchive::new(file) {
        Ok(archive) => archive,
        Err(error) => return explain(walk, &place, &error),
    };
    if archive.len() > walk.limits.archive_files {
        let what = format!(
            "holds {} files, at most {} are allowed. Split it",
            archive.len(),
            walk.limits.archive_files
        );
        return walk.trouble(&place, "too_many_files", &what);
    }
    let mut left = walk.limits.archive_bytes;
    for index in 0..archive.len() {
        let mut entry = match archive.by_index(index) {
            Ok(entry) => entry,
            Err(error) => {
                explain(walk, &format!("{place} > file {}", index + 1), &error)?;
                continue;
            }
        };
        if entry.is_dir() || entry.is_symlink() {
            continue;
        }
        let path = entry.name().to_owned();
        let name = path.rsplit(['/', '\\']).next().unwrap_or_default();
        let inner = origin.inner(SourceKind::Archive, &path);
        let place = inner.detail.origin.clone();
        let mut head = Vec::new();
        if let Err(error) = entry.by_ref().take(HEAD as u64).read_to_end(&mut head) {
            walk.failed(place, &error)?;
            continue;
        }
        let kind = Kind::of(name, &head);
        if kind == Kind::Other {
            walk.give(Item::Other(place))?;
            continue;
        }
        let most = match kind {
            Kind::Photo(_) => walk.limits.photo.bytes,
            _ => walk.limits.nested_bytes,
        };
        // What is packed decides, not what the archive says of it.
        let grown = entry
            .compressed_size()
            .max(4096)
            .saturating_mul(walk.limits.ratio);
        let allowed = most.min(grown).min(left);
        let mut bytes = head;
        let read = entry
            .by_ref()
            .take(allowed.saturating_add(1))
            .read_to_end(&mut bytes);
        if let Err(error) = read {
            // A checksum that does not fit, or an end in the middle: this file is lost, the others are not.
            let what = format!("cannot be unpacked: {error}. Copy or send the archive again");
            walk.trouble(&place, "damaged", &what)?;
            continue;
        }
        let size = bytes.len() as u64;
        if size > left {
            let what = format!(
                "with it the archive unpacks to more than {} GiB. Split it",
                walk.limits.archive_bytes >> 30
            );
            return walk.trouble(&place, "too_large", &what);
        }
        left -= size;
        if size > most {
            let what = format!("is larger than {} MiB. Crop or split it", most >> 20);
            walk.trouble(&place, "too_large", &what)?;
        } else if size > grown {
            let what = format!(
                "grows to more than {} times its packed size, which no photo does; it is not unpacked",
                walk.limits.ratio
            );
            walk.trouble(&place, "bomb", &what)?;
        } else {
            drop(entry);
            let name = name.to_owned();
            walk.bytes(bytes, &name, kind, &inner)?;
        }
    }
    Go::Continue(())
}

fn explain(walk: &mut Walk<'_>, place: &str, error: &ZipError) -> Go {
    match error {
        ZipError::Io(error) => walk.failed(place.to_owned(), error),
        ZipError::UnsupportedArchive(what) if *what == ZipError::PASSWORD_REQUIRED => walk.trouble(
            place,
            "encrypted",
            "is locked with a password. Unpack it, and give its folder",
        ),
        ZipError::CompressionMethodNotSupported(_) | ZipError::UnsupportedArchive(_) => walk.trouble(
            place,
            "unsupported",
            &format!("is packed in a way that is not known here ({error}). Unpack it, and give its folder"),
        ),
        error => walk.trouble(
            place,
            "damaged",
            &format!("is no whole zip archive ({error}). Copy or send it again"),
        ),
    }
}
