//! Goes through sources, one photo in memory at a time: folders, photos, archives, mails, mailboxes, PDFs.

use super::kind::{HEAD, Kind};
use super::{Limits, Stop, archive, mail, mailbox, pdf};
use crate::photo::MediaType;
use crate::store::{Source, SourceDetail, SourceKind};
use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// A photo that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Where.
    pub source: Source,
    /// Its own name there.
    pub file_name: String,
    /// What it is.
    pub media: MediaType,
    /// The file.
    pub bytes: Vec<u8>,
}

/// A page of a PDF, not drawn yet: whether that is worth the time, the store knows.
#[derive(Debug, Clone)]
pub struct FoundPage {
    /// Where.
    pub source: Source,
    /// The name of the PDF, and which page.
    pub file_name: String,
    /// The page.
    pub page: pdf::Page,
}

/// A mail or a document that gives no photo: it is kept as a row with its reason, so that it is not lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which one: its `detail` has the mail's or the document's identity.
    pub source: Source,
    /// Its name.
    pub file_name: String,
    /// A short word for the kind of trouble; it stays the same over versions.
    pub kind: &'static str,
    /// A sentence that names it and says what to do.
    pub message: String,
}

/// Something that could not be taken in, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// Where it lies.
    pub place: String,
    /// A short word for the kind of trouble; it stays the same over versions.
    pub kind: &'static str,
    /// A sentence that names it and says what to do.
    pub message: String,
}

/// What is met on the way.
#[derive(Debug, Clone)]
pub enum Item {
    /// A photo.
    Photo(Found),
    /// A page.
    Page(FoundPage),
    /// A mail or document without a photo.
    Refused(Refused),
    /// A file that is no photo and holds none, by its place.
    Other(String),
    /// Something that could not be looked into.
    Trouble(Trouble),
}

/// Going on, or not: somebody wants to stop, or nobody listens any more.
pub(super) type Go = ControlFlow<()>;

/// A way through sources.
pub struct Walk<'a> {
    pub(super) limits: &'a Limits,
    /// This folder is passed by: the store itself.
    except: Option<PathBuf>,
    stop: &'a Stop,
    each: &'a mut dyn FnMut(Item) -> Go,
    /// Photos, pages and refusals so far: what will be a row of the store.
    pub(super) rows: u64,
    /// What was said of the last troubles, for the mail in which they lie.
    pub(super) said: Vec<String>,
}

/// Where a file comes from: what its photos will say of their source.
#[derive(Debug, Clone)]
pub(super) struct Origin {
    pub(super) kind: SourceKind,
    pub(super) detail: SourceDetail,
    /// How many archives and mails it lies in.
    pub(super) depth: u32,
}

impl Origin {
    /// A file that lies in nothing else.
    fn new(kind: SourceKind, place: &str) -> Origin {
        Origin {
            kind,
            detail: SourceDetail {
                origin: place.to_owned(),
                ..SourceDetail::default()
            },
            depth: 0,
        }
    }

    /// What entries say of it.
    pub(super) fn source(&self) -> Source {
        Source {
            kind: self.kind,
            detail: self.detail.clone(),
        }
    }

    /// Something inside of it.
    pub(super) fn inner(&self, kind: SourceKind, name: &str) -> Origin {
        let mut detail = self.detail.clone();
        if !name.is_empty() {
            detail.origin = format!("{} > {name}", detail.origin);
        }
        // A photo in an archive that came by mail came by mail.
        let kind = match self.kind {
            SourceKind::Mail => SourceKind::Mail,
            _ => kind,
        };
        Origin {
            kind,
            detail,
            depth: self.depth + 1,
        }
    }
}

impl<'a> Walk<'a> {
    /// Gives everything it meets to `each`; passes by the folder `except`.
    pub fn new(
        limits: &'a Limits,
        except: Option<&Path>,
        stop: &'a Stop,
        each: &'a mut dyn FnMut(Item) -> ControlFlow<()>,
    ) -> Walk<'a> {
        Walk {
            limits,
            except: except.and_then(|folder| folder.canonicalize().ok()),
            stop,
            each,
            rows: 0,
            said: Vec::new(),
        }
    }

    /// Takes a mail that is in memory; `place` says where it lies.
    pub fn mail(&mut self, bytes: &[u8], place: &str) -> ControlFlow<()> {
        mail::message(self, bytes, &Origin::new(SourceKind::Mail, place))
    }

    /// Notes a mail that is too large to be taken; `head` are its first lines.
    pub fn large_mail(&mut self, head: &[u8], place: &str) -> ControlFlow<()> {
        mail::too_large(self, head, &Origin::new(SourceKind::Mail, place))
    }

    /// Goes through one source: a file, or a folder with everything in it.
    pub fn source(&mut self, path: &Path) -> ControlFlow<()> {
        self.source_if(path, &mut |_, _| true)
    }

    /// The same, but passes by the files for which `wanted` says no.
    pub fn source_if(
        &mut self,
        path: &Path,
        wanted: &mut dyn FnMut(&Path, &fs::Metadata) -> bool,
    ) -> ControlFlow<()> {
        let except = self.except.clone();
        let files = WalkDir::new(path)
            .sort_by_file_name()
            .into_iter()
            .filter_entry(move |entry| {
                !entry.file_type().is_dir()
                    || except.is_none()
                    || entry.path().canonicalize().ok() != except
            });
        for entry in files {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    let place = error.path().unwrap_or(path).display().to_string();
                    let error = error.into_io_error().unwrap_or_else(|| {
                        io::Error::other("the folder contains itself through a link")
                    });
                    self.failed(place, &error)?;
                    continue;
                }
            };
            if entry.file_type().is_dir() {
                continue;
            }
            // What cannot be asked for is tried, which says why.
            if fs::metadata(entry.path()).is_ok_and(|found| !wanted(entry.path(), &found)) {
                continue;
            }
            self.file(entry.path())?;
        }
        Go::Continue(())
    }

    /// Takes one file of a folder.
    fn file(&mut self, path: &Path) -> Go {
        let place = path.display().to_string();
        let name = file_name(path);
        let mut head = Vec::new();
        let opened = fs::metadata(path).and_then(|found| {
            if !found.is_file() {
                return Ok(None);
            }
            let mut file = File::open(path)?;
            file.by_ref().take(HEAD as u64).read_to_end(&mut head)?;
            Ok(Some(File::open(path)?))
        });
        let file = match opened {
            Ok(Some(file)) => file,
            Ok(None) => return self.give(Item::Other(place)),
            Err(error) => return self.failed(place, &error),
        };
        let kind = match in_maildir(path) {
            Some(Delivery::Done) => Kind::Mail,
            Some(Delivery::UnderWay) => return self.give(Item::Other(place)),
            None => Kind::of(&name, &head),
        };
        let origin = |kind| Origin::new(kind, &place);
        match kind {
            Kind::Zip => archive::open(self, BufReader::new(file), &origin(SourceKind::Archive)),
            Kind::Mailbox => mailbox::open(self, BufReader::new(file), &origin(SourceKind::Mail)),
            Kind::Mail => self.read(file, &name, kind, &origin(SourceKind::Mail)),
            Kind::Pdf => self.read(file, &name, kind, &origin(SourceKind::Pdf)),
            Kind::Photo(_) => self.read(file, &name, kind, &origin(SourceKind::Folder)),
            Kind::Other => self.give(Item::Other(place)),
        }
    }

    /// Reads a file within its limit and takes it.
    pub(super) fn read(&mut self, file: impl Read, name: &str, kind: Kind, origin: &Origin) -> Go {
        let place = &origin.detail.origin;
        let most = match kind {
            Kind::Photo(_) => self.limits.photo.bytes,
            _ => self.limits.nested_bytes,
        };
        let mut bytes = Vec::new();
        // One byte more than allowed is enough to know, whatever the length claims.
        match file.take(most.saturating_add(1)).read_to_end(&mut bytes) {
            Err(error) => self.failed(place.clone(), &error),
            Ok(_) if bytes.len() as u64 > most => self.trouble(
                place,
                "too_large",
                &format!("is larger than {} MiB. Crop or split it", most >> 20),
            ),
            Ok(_) => self.bytes(bytes, name, kind, origin),
        }
    }

    /// Takes a file that is in memory.
    pub(super) fn bytes(&mut self, bytes: Vec<u8>, name: &str, kind: Kind, origin: &Origin) -> Go {
        if origin.depth > self.limits.depth {
            let what = format!(
                "lies deeper than {} archives or mails. Unpack it, and give its folder",
                self.limits.depth
            );
            return self.trouble(&origin.detail.origin, "too_deep", &what);
        }
        match kind {
            Kind::Photo(media) => self.give(Item::Photo(Found {
                source: origin.source(),
                file_name: name.to_owned(),
                media,
                bytes,
            })),
            Kind::Zip => archive::open(self, io::Cursor::new(bytes), origin),
            Kind::Mail => mail::message(self, &bytes, origin),
            Kind::Mailbox => mailbox::open(self, io::Cursor::new(bytes), origin),
            Kind::Pdf => pdf::open(self, bytes, name, origin),
            Kind::Other => self.give(Item::Other(origin.detail.origin.clone())),
        }
    }

    /// Hands something over.
    pub(super) fn give(&mut self, item: Item) -> Go {
        if self.stop.is_set() {
            return Go::Break(());
        }
        match &item {
            Item::Photo(_) | Item::Page(_) | Item::Refused(_) => self.rows += 1,
            Item::Trouble(trouble) => self.said.push(trouble.message.clone()),
            Item::Other(_) => {}
        }
        (self.each)(item)
    }

    /// Notes a mail or document that gives no photo.
    pub(super) fn refuse(
        &mut self,
        origin: &Origin,
        file_name: &str,
        kind: &'static str,
        what: &str,
    ) -> Go {
        let detail = &origin.detail;
        self.give(Item::Refused(Refused {
            source: origin.source(),
            file_name: file_name.to_owned(),
            kind,
            message: format!("{}{}: {what}", detail.origin, detail.fragment()),
        }))
    }

    /// Says what is wrong with something.
    pub(super) fn trouble(&mut self, place: &str, kind: &'static str, what: &str) -> Go {
        self.give(Item::Trouble(Trouble {
            place: place.to_owned(),
            kind,
            message: format!("{place}: {what}"),
        }))
    }

    /// Says what the system has against something.
    pub(super) fn failed(&mut self, place: String, error: &io::Error) -> Go {
        let (kind, what) = match error.kind() {
            io::ErrorKind::NotFound => (
                "not_found",
                "no such file or folder. Check the path".to_owned(),
            ),
            io::ErrorKind::PermissionDenied => (
                "permission",
                "no permission to read it. Give yourself read access, or copy it".to_owned(),
            ),
            _ => (
                "io",
                format!("cannot be read: {error}. Try again, or copy it elsewhere"),
            ),
        };
        self.trouble(&place, kind, &what)
    }
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// How far a message of a Maildir has come: it is written in `tmp` and moved when it is whole.
enum Delivery {
    Done,
    UnderWay,
}

/// Whether a file is a message of a Maildir: it lies in one of the three folders that make one.
fn in_maildir(path: &Path) -> Option<Delivery> {
    let folder = path.parent()?;
    let name = folder.file_name()?;
    let maildir = folder.parent()?;
    if !["cur", "new", "tmp"]
        .iter()
        .all(|part| maildir.join(part).is_dir())
    {
        return None;
    }
    match name.to_str()? {
        "cur" | "new" => Some(Delivery::Done),
        "tmp" => Some(Delivery::UnderWay),
        _ => None,
    }
}
