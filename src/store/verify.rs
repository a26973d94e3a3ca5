//! Whether the store is whole: the chain of events, the files against their hashes, and what refers to what.

use super::files::{Files, blocking, sha256};
use super::history::event;
use super::shelf::EXTENSION;
use super::{Store, StoreError, entry};
use crate::record::NameplateRecord;
use serde::Serialize;
use sqlx::Row;
use std::collections::HashMap;

/// Something that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// `chain`, `photo`, `stock`, `reading`, `confirmation`, `entry`, `database`.
    pub kind: &'static str,
    /// Which one, and what is wrong with it.
    pub message: String,
}

/// What was looked at and what was found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Health {
    /// How many entries.
    pub entries: u64,
    /// How many photos.
    pub photos: u64,
    /// How many readings.
    pub readings: u64,
    /// How many events.
    pub events: u64,
    /// Hash of the last event: whoever notes it elsewhere can tell later that nothing before it was changed.
    pub head: String,
    /// What is wrong.
    pub findings: Vec<Finding>,
    /// Files that no entry speaks of: left by an add that was cut short. They do no harm.
    pub strays: u64,
}

impl Health {
    fn wrong(&mut self, kind: &'static str, message: impl Into<String>) {
        self.findings.push(Finding {
            kind,
            message: message.into(),
        });
    }
}

impl Store {
    /// Looks at everything in the store. Changes nothing.
    pub async fn verify(&self) -> Result<Health, StoreError> {
        let mut health = Health::default();
        self.database_itself(&mut health).await?;
        self.chain(&mut health).await?;
        self.files(&mut health).await?;
        self.readings(&mut health).await?;
        self.confirmed_rows(&mut health).await?;
        Ok(health)
    }

    /// What SQLite says of its own file. PostgreSQL keeps its references itself.
    async fn database_itself(&self, health: &mut Health) -> Result<(), StoreError> {
        if !self.is_sqlite() {
            return Ok(());
        }
        for row in sqlx::query("PRAGMA integrity_check(20)")
            .fetch_all(&self.pool)
            .await?
        {
            let says: String = row.try_get(0)?;
            if says != "ok" {
                health.wrong("database", says);
            }
        }
        for row in sqlx::query("PRAGMA foreign_key_check")
            .fetch_all(&self.pool)
            .await?
        {
            let (table, parent): (String, String) = (row.try_get(0)?, row.try_get(2)?);
            health.wrong(
                "database",
                format!("a row of {table} refers to a row of {parent} that is not there"),
            );
        }
        Ok(())
    }

    async fn chain(&self, health: &mut Health) -> Result<(), StoreError> {
        let mut last = (0, String::new());
        let (seq, hash) = loop {
            self.follow_chain(&mut last, health).await?;
            // Read after the events: who writes meanwhile adds an event and moves the end at once.
            let end = self.end_of_chain().await?;
            let before = last.0;
            if end.0 > before {
                self.follow_chain(&mut last, health).await?;
            }
            if last.0 == before {
                break end;
            }
        };
        health.head.clone_from(&hash);
        if (seq, &hash) != (last.0, &last.1) {
            health.wrong(
                "chain",
                format!("the last event is {}, {seq} were written", last.0),
            );
        }
        Ok(())
    }

    /// The events behind one, given by its number and hash, which become those of the last event there is.
    async fn follow_chain(
        &self,
        last: &mut (i64, String),
        health: &mut Health,
    ) -> Result<(), StoreError> {
        loop {
            let rows = sqlx::query("SELECT * FROM event WHERE seq > $1 ORDER BY seq LIMIT 500")
                .bind(last.0)
                .fetch_all(&self.pool)
                .await?;
            if rows.is_empty() {
                return Ok(());
            }
            for row in &rows {
                let e = event(row)?;
                health.events += 1;
                if e.seq != last.0 + 1 {
                    health.wrong("chain", format!("event {} is missing", last.0 + 1));
                }
                if !e.follows(&last.1) {
                    health.wrong(
                        "chain",
                        format!(
                            "event {} ({}) was changed after it was written",
                            e.seq, e.kind
                        ),
                    );
                }
                *last = (e.seq, e.hash);
            }
        }
    }

    /// Number and hash of the last event as they were noted apart from it.
    async fn end_of_chain(&self) -> Result<(i64, String), StoreError> {
        let end = sqlx::query("SELECT seq, hash FROM chain WHERE id = 1")
            .fetch_one(&self.pool)
            .await?;
        Ok((end.try_get("seq")?, end.try_get("hash")?))
    }

    async fn files(&self, health: &mut Health) -> Result<(), StoreError> {
        let rows = sqlx::query("SELECT sha256, media_type, width, height, bytes FROM photo")
            .fetch_all(&self.pool)
            .await?;
        let mut known = HashMap::new();
        for row in &rows {
            let photo = entry::stored_photo(row)?;
            known.insert(photo.sha256, photo.media.extension());
        }
        health.photos = known.len() as u64;
        let (wrong, strays) = compare(&self.photos, known).await?;
        for message in wrong {
            health.wrong("photo", message);
        }
        health.strays += strays;
        let lists = self.lists().await?;
        let known = lists.into_iter().map(|l| (l.sha256, EXTENSION)).collect();
        let (wrong, strays) = compare(&self.lists, known).await?;
        for message in wrong {
            health.wrong("stock", message);
        }
        health.strays += strays;
        Ok(())
    }

    async fn readings(&self, health: &mut Health) -> Result<(), StoreError> {
        let mut after = (i64::MIN, String::new());
        loop {
            let entries = self.entries_after(&after, 200).await?;
            let Some(last) = entries.last() else { break };
            after = (last.created_ms, last.id.clone());
            for entry in entries {
                health.entries += 1;
                let rows = sqlx::query(
                    "SELECT r.seq, r.record, e.detail FROM reading r JOIN event e ON e.seq = r.seq WHERE r.entry = $1",
                )
                .bind(&entry.id)
                .fetch_all(&self.pool)
                .await?;
                if rows.is_empty() && entry.state == super::EntryState::Read {
                    health.wrong(
                        "entry",
                        format!("{} counts as read, but has no reading", entry.id),
                    );
                }
                for row in &rows {
                    health.readings += 1;
                    let (record, detail): (String, String) =
                        (row.try_get("record")?, row.try_get("detail")?);
                    let noted: serde_json::Value =
                        serde_json::from_str(&detail).unwrap_or_default();
                    if noted["record"] != sha256(record.as_bytes()) {
                        health.wrong(
                            "reading",
                            format!(
                                "the record of {} was changed after it was written",
                                entry.id
                            ),
                        );
                    } else if let Err(error) = NameplateRecord::from_json(&record) {
                        health.wrong("reading", format!("the record of {}: {error}", entry.id));
                    }
                }
            }
        }
        Ok(())
    }

    async fn confirmed_rows(&self, health: &mut Health) -> Result<(), StoreError> {
        let rows = sqlx::query(
            "SELECT c.seq, c.entry, c.field, c.printed, c.who, e.who AS said_by, e.detail FROM confirmation c \
             JOIN event e ON e.seq = c.seq",
        )
        .fetch_all(&self.pool)
        .await?;
        for row in rows {
            let text = |name: &str| row.try_get::<String, _>(name);
            let noted: serde_json::Value =
                serde_json::from_str(&text("detail")?).unwrap_or_default();
            let same = noted["field"] == text("field")?
                && noted["printed"] == text("printed")?
                && text("who")? == text("said_by")?;
            if !same {
                health.wrong(
                    "confirmation",
                    format!(
                        "confirmation {} of {} was changed after it was written",
                        row.try_get::<i64, _>("seq")?,
                        text("entry")?
                    ),
                );
            }
        }
        Ok(())
    }
}

/// What is wrong with the files of a place, and how many of them nobody knows.
async fn compare(
    files: &Files,
    known: HashMap<String, &'static str>,
) -> Result<(Vec<String>, u64), StoreError> {
    let mut wrong = Vec::new();
    for (hash, ext) in &known {
        match files.read(hash, ext).await {
            Ok(bytes) => {
                let found = blocking(move || Ok(sha256(&bytes))).await?;
                if found != *hash {
                    wrong.push(format!(
                        "{}: its content was changed",
                        files.shown(hash, ext)
                    ));
                }
            }
            // What is away for a while is not missing.
            Err(error) if error.is_passing() => return Err(error),
            Err(_) => wrong.push(format!(
                "{}: is missing or cannot be read",
                files.shown(hash, ext)
            )),
        }
    }
    let strays = files.names().await?.into_iter().filter(|name| {
        let hash = name.split('.').next().unwrap_or_default();
        !known.contains_key(hash)
    });
    Ok((wrong, strays.count() as u64))
}
