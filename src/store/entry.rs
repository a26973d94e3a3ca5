//! Entries: one motor each, with its photos and where they came from.

use super::files::sha256;
use super::history::{self, NewEvent};
use super::{Store, StoreError};
use crate::photo::MediaType;
use serde::{Deserialize, Serialize};
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, Row};
use std::fmt;

/// How a photo came here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)] // the names say it
pub enum SourceKind {
    Phone,
    Counter,
    Folder,
    Archive,
    Mail,
    Pdf,
    Log,
}

impl SourceKind {
    /// All of them, in the order in which they are shown.
    pub const ALL: [SourceKind; 7] = [
        SourceKind::Phone,
        SourceKind::Counter,
        SourceKind::Folder,
        SourceKind::Archive,
        SourceKind::Mail,
        SourceKind::Pdf,
        SourceKind::Log,
    ];

    /// Its word in the database and in exports.
    pub fn word(self) -> &'static str {
        match self {
            SourceKind::Phone => "phone",
            SourceKind::Counter => "counter",
            SourceKind::Folder => "folder",
            SourceKind::Archive => "archive",
            SourceKind::Mail => "mail",
            SourceKind::Pdf => "pdf",
            SourceKind::Log => "log",
        }
    }

    /// What a person calls all photos that came this way.
    pub fn label(self) -> &'static str {
        match self {
            SourceKind::Phone => "Phones",
            SourceKind::Counter => "Counter",
            SourceKind::Folder => "Folders",
            SourceKind::Archive => "Archives",
            SourceKind::Mail => "Mail",
            SourceKind::Pdf => "PDF files",
            SourceKind::Log => "Log pages",
        }
    }
}

/// Where an entry came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// How.
    pub kind: SourceKind,
    /// From where, and what is known of it.
    pub detail: SourceDetail,
}

/// What is known of a source. All of it is text from elsewhere: shown, never followed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SourceDetail {
    /// The path, the name of the phone, the number of the message.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub origin: String,
    /// Who sent the mail.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sender: Option<String>,
    /// Its subject.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub subject: Option<String>,
    /// Which mail: what it calls itself (Message-ID, RFC 5322), the same for all that came with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub message: Option<String>,
    /// Hash of the document that the photo is a page of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub document: Option<String>,
    /// Which page of it, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub page: Option<u32>,
    /// Which row of a log page, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<u32>,
    /// What is to be known beside: what came with it and was left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl SourceDetail {
    /// Page and row as the end of an address: `#page=3&row=4` (the open parameters of RFC 8118 for PDF); empty
    /// where there is neither.
    pub fn fragment(&self) -> String {
        let parts = [("page", self.page), ("row", self.row)];
        let parts: Vec<String> = parts
            .into_iter()
            .filter_map(|(name, number)| Some(format!("{name}={}", number?)))
            .collect();
        match parts.as_slice() {
            [] => String::new(),
            parts => format!("#{}", parts.join("&")),
        }
    }
}

impl Source {
    /// A source of this kind, from there.
    pub fn new(kind: SourceKind, origin: impl Into<String>) -> Source {
        Source {
            kind,
            detail: SourceDetail {
                origin: origin.into(),
                ..SourceDetail::default()
            },
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind.word())?;
        let detail = &self.detail;
        let origin = format!("{}{}", detail.origin, detail.fragment());
        let parts = [
            Some(origin.as_str()).filter(|o| !o.is_empty()),
            detail.sender.as_deref(),
            detail.subject.as_deref(),
        ];
        for (i, part) in parts.into_iter().flatten().enumerate() {
            write!(f, "{}{part}", if i == 0 { ": " } else { ", " })?;
        }
        Ok(())
    }
}

/// What a search looks through before an entry is read: all photos of a mail are found by its identity.
pub(super) fn searched(source: &Source, file_name: &str) -> String {
    let message = source.detail.message.as_deref().unwrap_or_default();
    format!("{source} {file_name} {message}").to_lowercase()
}

/// How far an entry has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)] // the names say it
pub enum EntryState {
    Queued,
    Reading,
    Read,
    Failed,
}

impl EntryState {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            EntryState::Queued => "queued",
            EntryState::Reading => "reading",
            EntryState::Read => "read",
            EntryState::Failed => "failed",
        }
    }

    /// The state with this word.
    pub fn from_word(word: &str) -> Option<EntryState> {
        use EntryState::*;
        [Queued, Reading, Read, Failed]
            .into_iter()
            .find(|s| s.word() == word)
    }
}

/// A photo to be kept.
#[derive(Debug, Clone)]
pub struct NewPhoto {
    /// The file as it came.
    pub bytes: Vec<u8>,
    /// What its first bytes say that it is.
    pub media: MediaType,
    /// Width and height in pixels, where they are known.
    pub size: Option<(u32, u32)>,
}

/// A photo in the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredPhoto {
    /// Hash of its bytes, hexadecimal.
    pub sha256: String,
    /// What it is.
    pub media: MediaType,
    /// Width and height in pixels, where they are known.
    pub size: Option<(u32, u32)>,
    /// Size of the file.
    pub bytes: u64,
}

impl StoredPhoto {
    /// Millions of pixels, rounded up: what it takes in memory is about ten bytes each. One that does not tell its
    /// size counts like a phone's largest.
    pub fn megapixels(&self) -> u32 {
        let pixels = self
            .size
            .map_or(50_000_000, |(w, h)| u64::from(w) * u64::from(h));
        u32::try_from(pixels / 1_000_000 + 1).unwrap_or(u32::MAX)
    }
}

/// An entry to be added.
#[derive(Debug, Clone)]
pub struct NewEntry {
    /// Where it came from.
    pub source: Source,
    /// The file's name there: text to show, never a path to open.
    pub file_name: String,
    /// Its photos, all of one motor.
    pub photos: Vec<NewPhoto>,
    /// Which row or page of its photo it is, from 0; 0 where the photo is one motor.
    pub part: u32,
}

/// An entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its id: follows from the kind of its source and the content of its photos.
    pub id: String,
    /// Where it came from.
    pub source: Source,
    /// Which row or page of its photo it is.
    pub part: u32,
    /// The file's name there.
    pub file_name: String,
    /// How far it has come.
    pub state: EntryState,
    /// Why it failed: kind and message.
    pub failure: Option<(String, String)>,
    /// `air-over`, `general-purpose` or `unknown`.
    pub class: String,
    /// How many questions are open.
    pub questions: u32,
    /// How often it was taken to be read.
    pub attempts: u32,
    /// When it came, milliseconds since 1970.
    pub created_ms: i64,
    /// When something last happened to it.
    pub changed_ms: i64,
}

/// Which entries to list.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only those in this state.
    pub state: Option<EntryState>,
    /// Only those from there.
    pub source: Option<SourceKind>,
    /// Only those with open questions, or without any.
    pub asks: Option<bool>,
    /// Only those in which this stands, in any case.
    pub search: String,
    /// How many to skip.
    pub offset: u32,
    /// How many at most; 0 for all.
    pub limit: u32,
}

const COLUMNS: &str = "id, source, source_detail, part, file_name, state, failure_kind, failure_message, class, \
    questions, attempts, created_ms, changed_ms";

impl Entry {
    pub(super) fn from_row(row: &AnyRow) -> Result<Entry, sqlx::Error> {
        let word = |name: &str| row.try_get::<String, _>(name);
        let wrong = |what: &str| sqlx::Error::Decode(format!("unknown {what}").into());
        let kind = word("source")?;
        let failure = row
            .try_get::<Option<String>, _>("failure_kind")?
            .zip(row.try_get::<Option<String>, _>("failure_message")?);
        Ok(Entry {
            id: word("id")?,
            source: Source {
                kind: SourceKind::ALL
                    .into_iter()
                    .find(|k| k.word() == kind)
                    .ok_or_else(|| wrong("source"))?,
                detail: serde_json::from_str(&word("source_detail")?)
                    .map_err(|e| sqlx::Error::Decode(e.into()))?,
            },
            part: number(row, "part")?,
            file_name: word("file_name")?,
            state: EntryState::from_word(&word("state")?).ok_or_else(|| wrong("state"))?,
            failure,
            class: word("class")?,
            questions: number(row, "questions")?,
            attempts: number(row, "attempts")?,
            created_ms: row.try_get("created_ms")?,
            changed_ms: row.try_get("changed_ms")?,
        })
    }
}

/// A count that was written as one.
fn number(row: &AnyRow, name: &str) -> Result<u32, sqlx::Error> {
    u32::try_from(row.try_get::<i64, _>(name)?).map_err(|e| sqlx::Error::Decode(e.into()))
}

/// The id that follows from where an entry came from and what is on its photos. A photo in two mails is two
/// entries, since two people ask; a page is known by its document, however it was drawn.
pub(super) fn id_of(source: &Source, hashes: &[String], part: u32) -> String {
    let detail = &source.detail;
    let mut text = format!("{}\n{part}", source.kind.word());
    if let Some(message) = &detail.message {
        text.push_str("\nmessage ");
        text.push_str(message);
    }
    match (&detail.document, detail.page) {
        (Some(document), page) => {
            text.push_str(&format!("\n{document}#{}", page.unwrap_or_default()));
        }
        (None, _) => hashes.iter().for_each(|hash| {
            text.push('\n');
            text.push_str(hash);
        }),
    }
    let mut id = sha256(text.as_bytes());
    id.truncate(20);
    id
}

/// An entry as it is put into the table.
pub(super) struct Addition<'a> {
    pub id: &'a str,
    pub source: &'a Source,
    pub part: u32,
    pub file_name: &'a str,
    pub state: EntryState,
    /// Hashes of its photos, which are kept already.
    pub photos: &'a [String],
    pub who: &'a str,
    pub created_ms: i64,
    pub now_ms: i64,
}

/// Adds an entry with its photos and its event; false, and nothing is changed, when it is there.
pub(super) async fn insert(tx: &mut AnyConnection, new: &Addition<'_>) -> Result<bool, StoreError> {
    let added = sqlx::query(
        "INSERT INTO entry (id, source, source_detail, part, file_name, state, class, questions, search, attempts, \
         created_ms, changed_ms) VALUES ($1, $2, $3, $4, $5, $6, '', 0, $7, 0, $8, $9) ON CONFLICT (id) DO NOTHING",
    )
    .bind(new.id)
    .bind(new.source.kind.word())
    .bind(encoded(&new.source.detail)?)
    .bind(i64::from(new.part))
    .bind(new.file_name)
    .bind(new.state.word())
    .bind(searched(new.source, new.file_name))
    .bind(new.created_ms)
    .bind(new.now_ms)
    .execute(&mut *tx)
    .await?;
    if added.rows_affected() == 0 {
        return Ok(false);
    }
    for (position, photo) in new.photos.iter().enumerate() {
        sqlx::query("INSERT INTO entry_photo (entry, position, photo) VALUES ($1, $2, $3)")
            .bind(new.id)
            .bind(i64::try_from(position).unwrap_or(i64::MAX))
            .bind(photo)
            .execute(&mut *tx)
            .await?;
    }
    let event = NewEvent {
        who: new.who,
        kind: "added",
        entry: Some(new.id),
        detail: serde_json::json!({"source": new.source.to_string(), "file": new.file_name, "photos": new.photos}),
    };
    history::append(tx, new.now_ms, &event).await?;
    Ok(true)
}

/// What is known of a source as it is kept.
pub(super) fn encoded(detail: &SourceDetail) -> Result<String, StoreError> {
    Ok(serde_json::to_string(detail).map_err(|e| sqlx::Error::Encode(e.into()))?)
}

impl Store {
    /// Adds an entry and keeps its photos. The same photos from the same kind of source are one entry, however
    /// often they come; the second value says whether it is new.
    pub async fn add(&self, new: NewEntry) -> Result<(Entry, bool), StoreError> {
        let mut hashes = Vec::new();
        let mut photos = Vec::new();
        for photo in new.photos {
            photos.push((photo.media, photo.size, photo.bytes.len()));
            let kept = self.photos.keep(photo.bytes, photo.media.extension());
            hashes.push(kept.await?);
        }
        let id = id_of(&new.source, &hashes, new.part);
        let now = history::now_ms();
        let mut tx = self.write().await?;
        for ((media, size, bytes), hash) in photos.into_iter().zip(&hashes) {
            let side = |of: fn((u32, u32)) -> u32| size.map(|s| i64::from(of(s)));
            sqlx::query(
                "INSERT INTO photo (sha256, bytes, media_type, width, height, added_ms) \
                 VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (sha256) DO NOTHING",
            )
            .bind(hash)
            .bind(i64::try_from(bytes).unwrap_or(i64::MAX))
            .bind(media.name())
            .bind(side(|s| s.0))
            .bind(side(|s| s.1))
            .bind(now)
            .execute(&mut *tx)
            .await?;
        }
        let addition = Addition {
            id: &id,
            source: &new.source,
            part: new.part,
            file_name: &new.file_name,
            state: EntryState::Queued,
            photos: &hashes,
            who: new.source.kind.word(),
            created_ms: now,
            now_ms: now,
        };
        let added = insert(&mut tx, &addition).await?;
        tx.commit().await?;
        Ok((self.entry(&id).await?, added))
    }

    /// The entry with this id.
    pub async fn entry(&self, id: &str) -> Result<Entry, StoreError> {
        let sql = format!("SELECT {COLUMNS} FROM entry WHERE id = $1");
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(id)
            .fetch_optional(&self.pool)
            .await?
            .ok_or_else(|| StoreError::NoEntry(id.to_owned()))?;
        Ok(Entry::from_row(&row)?)
    }

    /// Entries, the newest first.
    pub async fn entries(&self, filter: &Filter) -> Result<Vec<Entry>, StoreError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM entry WHERE {WHERE} ORDER BY created_ms DESC, id LIMIT $5 OFFSET $6"
        );
        let limit = match filter.limit {
            0 => i64::MAX,
            n => i64::from(n),
        };
        let rows = filter
            .bind(sqlx::query(sqlx::AssertSqlSafe(sql)))
            .bind(limit)
            .bind(i64::from(filter.offset))
            .fetch_all(&self.pool)
            .await?;
        Ok(rows.iter().map(Entry::from_row).collect::<Result<_, _>>()?)
    }

    /// Entries after the one that came at this time with this id, the oldest first.
    pub(super) async fn entries_after(
        &self,
        after: &(i64, String),
        limit: u32,
    ) -> Result<Vec<Entry>, StoreError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM entry WHERE created_ms > $1 OR (created_ms = $1 AND id > $2) \
             ORDER BY created_ms, id LIMIT $3"
        );
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(after.0)
            .bind(&after.1)
            .bind(i64::from(limit))
            .fetch_all(&self.pool)
            .await?;
        Ok(rows.iter().map(Entry::from_row).collect::<Result<_, _>>()?)
    }

    /// How many entries a filter lets through, whatever its limit.
    pub async fn count(&self, filter: &Filter) -> Result<u64, StoreError> {
        let sql = format!("SELECT count(*) AS n FROM entry WHERE {WHERE}");
        let row = filter
            .bind(sqlx::query(sqlx::AssertSqlSafe(sql)))
            .fetch_one(&self.pool)
            .await?;
        Ok(u64::try_from(row.try_get::<i64, _>("n")?).unwrap_or_default())
    }

    /// How many entries wait to be read or are being read.
    pub async fn count_waiting(&self) -> Result<u64, StoreError> {
        let mut waiting = 0;
        for state in [EntryState::Queued, EntryState::Reading] {
            let filter = Filter {
                state: Some(state),
                ..Filter::default()
            };
            waiting += self.count(&filter).await?;
        }
        Ok(waiting)
    }

    /// The photos of an entry, in their order.
    pub async fn photos(&self, entry: &str) -> Result<Vec<StoredPhoto>, StoreError> {
        let rows = sqlx::query(
            "SELECT p.sha256, p.media_type, p.width, p.height, p.bytes FROM entry_photo e \
             JOIN photo p ON p.sha256 = e.photo WHERE e.entry = $1 ORDER BY e.position",
        )
        .bind(entry)
        .fetch_all(&self.pool)
        .await?;
        Ok(rows.iter().map(stored_photo).collect::<Result<_, _>>()?)
    }

    /// The photo with this hash.
    pub async fn photo(&self, sha256: &str) -> Result<Option<StoredPhoto>, StoreError> {
        let row = sqlx::query(
            "SELECT sha256, media_type, width, height, bytes FROM photo WHERE sha256 = $1",
        )
        .bind(sha256)
        .fetch_optional(&self.pool)
        .await?;
        Ok(row.as_ref().map(stored_photo).transpose()?)
    }

    /// Whether a photo with these bytes belongs to an entry, wherever it came from.
    pub async fn holds(&self, photo: &NewPhoto) -> Result<bool, StoreError> {
        let row = sqlx::query("SELECT count(*) AS n FROM entry_photo WHERE photo = $1")
            .bind(sha256(&photo.bytes))
            .fetch_one(&self.pool)
            .await?;
        Ok(row.try_get::<i64, _>("n")? > 0)
    }

    /// Keeps a photo's bytes once more where it belongs to an entry that failed: its file may have been damaged since.
    pub async fn mend(&self, photo: NewPhoto) -> Result<(), StoreError> {
        let failed = sqlx::query(
            "SELECT count(*) AS n FROM entry_photo JOIN entry ON entry.id = entry_photo.entry \
             WHERE entry_photo.photo = $1 AND entry.state = $2",
        )
        .bind(sha256(&photo.bytes))
        .bind(EntryState::Failed.word())
        .fetch_one(&self.pool)
        .await?;
        if failed.try_get::<i64, _>("n")? > 0 {
            let extension = photo.media.extension();
            self.photos.keep(photo.bytes, extension).await?;
        }
        Ok(())
    }

    /// Whether this very entry is here: the same photos from the same mail, the same page of the same document.
    pub async fn knows(&self, source: &Source, photos: &[NewPhoto]) -> Result<bool, StoreError> {
        let hashes: Vec<String> = photos.iter().map(|p| sha256(&p.bytes)).collect();
        self.has(&id_of(source, &hashes, 0)).await
    }

    async fn has(&self, id: &str) -> Result<bool, StoreError> {
        let row = sqlx::query("SELECT count(*) AS n FROM entry WHERE id = $1")
            .bind(id)
            .fetch_one(&self.pool)
            .await?;
        Ok(row.try_get::<i64, _>("n")? > 0)
    }
}

pub(super) fn stored_photo(row: &AnyRow) -> Result<StoredPhoto, sqlx::Error> {
    let side = |name: &str| -> Result<Option<u32>, sqlx::Error> {
        Ok(row
            .try_get::<Option<i64>, _>(name)?
            .and_then(|n| u32::try_from(n).ok()))
    };
    let name: String = row.try_get("media_type")?;
    Ok(StoredPhoto {
        sha256: row.try_get("sha256")?,
        media: MediaType::from_name(&name)
            .ok_or_else(|| sqlx::Error::Decode(format!("unknown media type {name:?}").into()))?,
        size: side("width")?.zip(side("height")?),
        bytes: u64::try_from(row.try_get::<i64, _>("bytes")?).unwrap_or_default(),
    })
}

/// The condition of a filter; an empty text or -1 lets everything through.
const WHERE: &str = "($1 = '' OR state = $1) AND ($2 = '' OR source = $2) \
    AND ($3 = -1 OR ($3 = 1 AND questions > 0) OR ($3 = 0 AND questions = 0)) \
    AND ($4 = '' OR search LIKE $4 ESCAPE '!')";

type Query<'q> = sqlx::query::Query<'q, sqlx::Any, sqlx::any::AnyArguments>;

impl Filter {
    fn bind<'q>(&self, query: Query<'q>) -> Query<'q> {
        let asks: i64 = self.asks.map_or(-1, i64::from);
        let mut pattern = String::new();
        for c in self.search.trim().to_lowercase().chars() {
            if matches!(c, '!' | '%' | '_') {
                pattern.push('!');
            }
            pattern.push(c);
        }
        if !pattern.is_empty() {
            pattern = format!("%{pattern}%");
        }
        query
            .bind(self.state.map_or("", EntryState::word))
            .bind(self.source.map_or("", SourceKind::word))
            .bind(asks)
            .bind(pattern)
    }
}

/// Makes sure that there is such an entry, and holds it against others until the transaction ends.
pub(super) async fn touch(tx: &mut AnyConnection, id: &str, now_ms: i64) -> Result<(), StoreError> {
    let found = sqlx::query("UPDATE entry SET changed_ms = $1 WHERE id = $2")
        .bind(now_ms)
        .bind(id)
        .execute(tx)
        .await?;
    match found.rows_affected() {
        0 => Err(StoreError::NoEntry(id.to_owned())),
        _ => Ok(()),
    }
}
