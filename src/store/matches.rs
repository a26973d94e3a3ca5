//! What was matched: the requirement, the list it was matched with and what came of it.

use super::history::{self, NewEvent};
use super::{Store, StoreError};
use crate::matching::Matches;
use serde_json::{Value, json};
use sqlx::Row;

/// A match that was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchRun {
    /// The number of its event.
    pub seq: i64,
    /// The number of the stock list.
    pub stock_list: i64,
    /// What was looked for.
    pub requirement: Value,
    /// The candidates that were not refused: number, outcome and rank.
    pub result: Value,
    /// The version of this program.
    pub rules: String,
}

/// So many candidates are kept; the list itself is kept too, so the rest can be had again.
const MOST_KEPT: usize = 50;

impl Store {
    /// Keeps a match of an entry with a stock list, unless it is the same as the last one.
    pub async fn save_match(
        &self,
        entry: &str,
        stock_list: i64,
        matches: &Matches,
        who: &str,
    ) -> Result<i64, StoreError> {
        let requirement = serde_json::to_value(&matches.requirement)
            .map_err(|e| sqlx::Error::Encode(e.into()))?;
        let kept: Vec<Value> = matches
            .candidates
            .iter()
            .take(MOST_KEPT)
            .map(|c| json!({"sku": c.sku, "outcome": c.outcome}))
            .collect();
        let result = Value::from(kept);
        let rules = env!("CARGO_PKG_VERSION");
        if let Some(last) = self.match_runs(entry).await?.into_iter().next()
            && last.stock_list == stock_list
            && last.requirement == requirement
            && last.result == result
            && last.rules == rules
        {
            return Ok(last.seq);
        }
        let now = history::now_ms();
        let mut tx = self.write().await?;
        let event = NewEvent {
            who,
            kind: "matched",
            entry: Some(entry),
            detail: json!({"stock_list": stock_list, "rules": rules, "best": matches.candidates.first().map(|c| &c.sku)}),
        };
        let seq = history::append(&mut tx, now, &event).await?;
        sqlx::query(
            "INSERT INTO match_run (seq, entry, stock_list, requirement, result, rules) VALUES ($1, $2, $3, $4, $5, $6)",
        )
        .bind(seq)
        .bind(entry)
        .bind(stock_list)
        .bind(requirement.to_string())
        .bind(result.to_string())
        .bind(rules)
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(seq)
    }

    /// The matches of an entry, the last first.
    pub async fn match_runs(&self, entry: &str) -> Result<Vec<MatchRun>, StoreError> {
        let rows = sqlx::query("SELECT * FROM match_run WHERE entry = $1 ORDER BY seq DESC")
            .bind(entry)
            .fetch_all(&self.pool)
            .await?;
        let run = |row: &sqlx::any::AnyRow| -> Result<MatchRun, sqlx::Error> {
            let json = |name: &str| -> Result<Value, sqlx::Error> {
                let text: String = row.try_get(name)?;
                serde_json::from_str(&text).map_err(|e| sqlx::Error::Decode(e.into()))
            };
            Ok(MatchRun {
                seq: row.try_get("seq")?,
                stock_list: row.try_get("stock_list")?,
                requirement: json("requirement")?,
                result: json("result")?,
                rules: row.try_get("rules")?,
            })
        };
        Ok(rows.iter().map(run).collect::<Result<_, _>>()?)
    }
}
