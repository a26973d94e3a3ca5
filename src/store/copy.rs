//! All rows of one store's database into another, whichever of the two databases each is: that is what a backup is, and
//! what bringing it back is. The tables and their columns are asked of the one that is SQLite, so that a table that is
//! added later is copied as well.

use super::StoreError;
use futures_util::TryStreamExt;
use sqlx::any::{AnyArguments, AnyRow};
use sqlx::query::Query;
use sqlx::{Any, AnyConnection, AssertSqlSafe, Row};

/// A table to be copied.
pub(super) struct Table {
    name: String,
    columns: Vec<(String, Kind)>,
    /// The tables that its rows refer to.
    refers: Vec<String>,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Text,
    Whole,
    Real,
    Bytes,
}

/// The tables of a store, those that are referred to before those that refer to them.
pub(super) async fn tables(sqlite: &mut AnyConnection) -> Result<Vec<Table>, StoreError> {
    let names = sqlx::query(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND substr(name, 1, 5) NOT IN ('_sqlx', 'sqlit') ORDER BY name",
    )
    .fetch_all(&mut *sqlite)
    .await?;
    let mut left = Vec::new();
    for row in names {
        let name: String = row.try_get("name")?;
        let rows = sqlx::query("SELECT name, type FROM pragma_table_info($1) ORDER BY cid")
            .bind(&name)
            .fetch_all(&mut *sqlite)
            .await?;
        let mut columns = Vec::new();
        for row in rows {
            let (column, kind): (String, String) = (row.try_get("name")?, row.try_get("type")?);
            columns.push((column, Kind::of(&kind)?));
        }
        let rows = sqlx::query("SELECT \"table\" AS parent FROM pragma_foreign_key_list($1)")
            .bind(&name)
            .fetch_all(&mut *sqlite)
            .await?;
        let mut refers = Vec::new();
        for row in rows {
            let parent: String = row.try_get("parent")?;
            if parent != name {
                refers.push(parent);
            }
        }
        left.push(Table {
            name,
            columns,
            refers,
        });
    }
    let mut ordered: Vec<Table> = Vec::new();
    while !left.is_empty() {
        let known = |name: &String| ordered.iter().any(|t| t.name == *name);
        let Some(next) = left.iter().position(|t| t.refers.iter().all(known)) else {
            return Err(StoreError::Copy(
                "its tables refer to each other in a circle".to_owned(),
            ));
        };
        ordered.push(left.remove(next));
    }
    Ok(ordered)
}

impl Kind {
    fn of(declared: &str) -> Result<Kind, StoreError> {
        match declared.to_ascii_uppercase().as_str() {
            "TEXT" => Ok(Kind::Text),
            "BIGINT" | "INTEGER" => Ok(Kind::Whole),
            "DOUBLE PRECISION" | "REAL" => Ok(Kind::Real),
            "BLOB" | "BYTEA" => Ok(Kind::Bytes),
            other => Err(StoreError::Copy(format!(
                "a column of type {other} is not understood"
            ))),
        }
    }
}

/// Copies all rows of a table; what stood there before is gone. Gives how many.
pub(super) async fn rows(
    table: &Table,
    from: &mut AnyConnection,
    to: &mut AnyConnection,
) -> Result<u64, StoreError> {
    let columns: Vec<&str> = table
        .columns
        .iter()
        .map(|(name, _)| name.as_str())
        .collect();
    let columns = columns.join(", ");
    let places: Vec<String> = (1..=table.columns.len()).map(|n| format!("${n}")).collect();
    let name = &table.name;
    let insert = format!(
        "INSERT INTO {name} ({columns}) VALUES ({})",
        places.join(", ")
    );
    sqlx::query(AssertSqlSafe(format!("DELETE FROM {name}")))
        .execute(&mut *to)
        .await?;
    let mut copied = 0;
    let select = sqlx::query(AssertSqlSafe(format!("SELECT {columns} FROM {name}")));
    let mut found = select.fetch(from);
    while let Some(row) = found.try_next().await? {
        let mut query = sqlx::query(AssertSqlSafe(insert.clone()));
        for (column, kind) in &table.columns {
            query = bind(query, &row, column, *kind)?;
        }
        query.execute(&mut *to).await?;
        copied += 1;
    }
    Ok(copied)
}

fn bind<'q>(
    query: Query<'q, Any, AnyArguments>,
    row: &AnyRow,
    column: &str,
    kind: Kind,
) -> Result<Query<'q, Any, AnyArguments>, sqlx::Error> {
    Ok(match kind {
        Kind::Text => query.bind(row.try_get::<Option<String>, _>(column)?),
        Kind::Whole => query.bind(row.try_get::<Option<i64>, _>(column)?),
        Kind::Real => query.bind(row.try_get::<Option<f64>, _>(column)?),
        Kind::Bytes => query.bind(row.try_get::<Option<Vec<u8>>, _>(column)?),
    })
}
