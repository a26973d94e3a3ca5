//! Which entries show the same photo, or the same motor by its serial number. They are told to belong together, and
//! nothing else: no reading is changed by it, and nothing is left out.
//!
//! Every entry that was read knows the first entry of its group. Whoever changes that holds the end of the history, so
//! that of two entries that are read at the same time the second one finds the other, whichever it is; and the first of
//! a group is the one that came first, not the one that was read first.

use super::likeness::alike;
use super::{Entry, Store, StoreError};
use crate::record::{Field, NameplateRecord, Value};
use crate::units::plain;
use serde::Serialize;
use sqlx::{AnyConnection, Row};
use std::collections::BTreeSet;

/// A serial number with fewer letters and digits than this names no motor.
const SHORTEST_SERIAL: usize = 4;

/// By what an entry is known to show the same motor as another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum SameBy {
    /// It is the same picture.
    Photo,
    /// The serial number is the same.
    Serial,
}

impl SameBy {
    /// Its word in exports.
    pub fn word(self) -> &'static str {
        match self {
            SameBy::Photo => "photo",
            SameBy::Serial => "serial",
        }
    }
}

/// The entry that came first of all that show the same motor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Same {
    /// Its id.
    pub first: String,
    /// The name of its file.
    pub file_name: String,
    /// How that is known.
    pub by: SameBy,
}

impl Store {
    /// The entry before this one that shows the same photo or motor; `None` for the first of them, and where there is
    /// no other.
    pub async fn same_as(&self, entry: &str) -> Result<Option<Same>, StoreError> {
        let row = sqlx::query(
            "SELECT e.id, e.file_name, s.first_by_photo FROM same_motor s JOIN entry e ON e.id = s.first_of_all \
             WHERE s.entry = $1 AND s.first_of_all <> s.entry",
        )
        .bind(entry)
        .fetch_optional(&self.pool)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let first: String = row.try_get("id")?;
        let by = match row.try_get::<String, _>("first_by_photo")? == first {
            true => SameBy::Photo,
            false => SameBy::Serial,
        };
        Ok(Some(Same {
            first,
            file_name: row.try_get("file_name")?,
            by,
        }))
    }

    /// How many entries show a photo or a motor that an entry before them shows.
    pub async fn count_same(&self) -> Result<u64, StoreError> {
        let row = sqlx::query("SELECT count(*) AS n FROM same_motor WHERE first_of_all <> entry")
            .fetch_one(&self.pool)
            .await?;
        Ok(u64::try_from(row.try_get::<i64, _>("n")?).unwrap_or_default())
    }
}

/// What is certain of a motor, in the form in which it is compared; empty where it is not certain.
#[derive(Debug, PartialEq, Eq)]
struct Facts {
    serial: String,
    model: String,
    volts: String,
}

impl Facts {
    fn of(record: &NameplateRecord) -> Facts {
        let fact = |field: Field| record.fields.get(&field).and_then(|r| r.fact());
        // `AB-123` and `ab 123` are the same.
        let text = |field: Field| -> String {
            let text = fact(field).and_then(Value::text).unwrap_or_default();
            let plain = text.chars().filter(|c| c.is_alphanumeric());
            plain.flat_map(char::to_uppercase).collect()
        };
        let serial = text(Field::Serial);
        let volts = fact(Field::Volts).map_or(&[][..], Value::numbers);
        Facts {
            serial: match serial.chars().count() < SHORTEST_SERIAL {
                true => String::new(),
                false => serial,
            },
            model: text(Field::Model),
            volts: volts
                .iter()
                .map(|v| plain(*v))
                .collect::<Vec<_>>()
                .join(" "),
        }
    }
}

/// Puts an entry into its group once it is read, and into another where what is certain of it has changed. To be called
/// after an event was added.
pub(super) async fn settle(
    tx: &mut AnyConnection,
    entry: &Entry,
    record: &NameplateRecord,
) -> Result<(), StoreError> {
    let facts = Facts::of(record);
    let row =
        sqlx::query("SELECT serial, model, volts, first_of_all FROM same_motor WHERE entry = $1")
            .bind(&entry.id)
            .fetch_optional(&mut *tx)
            .await?;
    let Some(row) = row else {
        sqlx::query(
            "INSERT INTO same_motor (entry, is_row, serial, model, volts, first_by_photo, first_of_all) \
             VALUES ($1, $2, $3, $4, $5, $1, $1)",
        )
        .bind(&entry.id)
        .bind(i64::from(entry.source.detail.row.is_some()))
        .bind(&facts.serial)
        .bind(&facts.model)
        .bind(&facts.volts)
        .execute(&mut *tx)
        .await?;
        return join(tx, &entry.id).await;
    };
    let before = Facts {
        serial: row.try_get("serial")?,
        model: row.try_get("model")?,
        volts: row.try_get("volts")?,
    };
    if before == facts {
        return Ok(());
    }
    sqlx::query("UPDATE same_motor SET serial = $1, model = $2, volts = $3 WHERE entry = $4")
        .bind(&facts.serial)
        .bind(&facts.model)
        .bind(&facts.volts)
        .bind(&entry.id)
        .execute(&mut *tx)
        .await?;
    part(tx, &row.try_get::<String, _>("first_of_all")?).await
}

/// Takes a group apart, and puts together again what still belongs together.
async fn part(tx: &mut AnyConnection, first: &str) -> Result<(), StoreError> {
    let members = sqlx::query("SELECT entry FROM same_motor WHERE first_of_all = $1")
        .bind(first)
        .fetch_all(&mut *tx)
        .await?;
    sqlx::query(
        "UPDATE same_motor SET first_by_photo = entry, first_of_all = entry WHERE first_of_all = $1",
    )
    .bind(first)
    .execute(&mut *tx)
    .await?;
    for member in members {
        join(tx, &member.try_get::<String, _>("entry")?).await?;
    }
    Ok(())
}

/// Which of the two groups of an entry.
#[derive(Clone, Copy)]
enum Group {
    Photo,
    All,
}

impl Group {
    fn column(self) -> &'static str {
        match self {
            Group::Photo => "first_by_photo",
            Group::All => "first_of_all",
        }
    }
}

/// Makes one group of the groups of all that show the same photo or motor as this entry.
async fn join(tx: &mut AnyConnection, id: &str) -> Result<(), StoreError> {
    let (mut by_photo, mut of_all) = (BTreeSet::new(), BTreeSet::new());
    for photo in alike(tx, id).await? {
        // The rows of a log page share their photo. Two serial numbers are two motors, however alike the photos.
        let rows = sqlx::query(
            "SELECT DISTINCT o.first_by_photo, o.first_of_all FROM same_motor s, entry_photo e \
             JOIN same_motor o ON o.entry = e.entry WHERE s.entry = $1 AND e.photo = $2 \
             AND s.is_row = 0 AND o.is_row = 0 AND (s.serial = '' OR o.serial = '' OR s.serial = o.serial)",
        )
        .bind(id)
        .bind(photo)
        .fetch_all(&mut *tx)
        .await?;
        for row in rows {
            by_photo.insert(row.try_get::<String, _>("first_by_photo")?);
            of_all.insert(row.try_get::<String, _>("first_of_all")?);
        }
    }
    let rows = sqlx::query(
        "SELECT DISTINCT o.first_of_all FROM same_motor s JOIN same_motor o ON o.serial = s.serial \
         WHERE s.entry = $1 AND s.serial <> '' AND (s.model = '' OR o.model = '' OR s.model = o.model) \
         AND (s.volts = '' OR o.volts = '' OR s.volts = o.volts)",
    )
    .bind(id)
    .fetch_all(&mut *tx)
    .await?;
    for row in rows {
        of_all.insert(row.try_get("first_of_all")?);
    }
    unite(tx, Group::Photo, &by_photo).await?;
    unite(tx, Group::All, &of_all).await
}

/// Makes one group of several, each given by its first entry.
async fn unite(
    tx: &mut AnyConnection,
    group: Group,
    firsts: &BTreeSet<String>,
) -> Result<(), StoreError> {
    let mut ages = Vec::new();
    for first in firsts {
        let row = sqlx::query("SELECT created_ms FROM entry WHERE id = $1")
            .bind(first)
            .fetch_one(&mut *tx)
            .await?;
        ages.push((row.try_get::<i64, _>("created_ms")?, first));
    }
    ages.sort();
    let Some(((_, first), others)) = ages.split_first() else {
        return Ok(());
    };
    let column = group.column();
    for (_, other) in others {
        sqlx::query(sqlx::AssertSqlSafe(format!(
            "UPDATE same_motor SET {column} = $1 WHERE {column} = $2"
        )))
        .bind(first)
        .bind(other)
        .execute(&mut *tx)
        .await?;
    }
    Ok(())
}
