//! What there is to tell of a store, counted in one pass.

use crate::record::{CheckOutcome, Field, NameplateRecord, Outcome, State, Value};
use crate::store::{EntryState, Exported, SourceKind, Store, StoreError};
use crate::units::plain;
use std::collections::BTreeMap;

/// Entries are listed up to this number; the rest is counted.
pub(super) const MOST_LISTED: usize = 300;

/// How many readings of a field are in which state.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[allow(missing_docs)] // the names say it
pub struct States {
    pub confirmed: u64,
    pub clear: u64,
    pub doubtful: u64,
    pub absent: u64,
}

/// How far the entries of one kind of source have come.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Progress {
    /// Read, with no open question.
    pub settled: u64,
    /// Read, with an open question.
    pub asks: u64,
    /// Not to be read.
    pub failed: u64,
    /// Not yet read.
    pub waiting: u64,
}

impl Progress {
    /// All of them.
    pub fn all(&self) -> u64 {
        self.settled + self.asks + self.failed + self.waiting
    }
}

/// An entry that is listed, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Its id.
    pub id: String,
    /// The file's name.
    pub file: String,
    /// Where it came from.
    pub source: String,
    /// A sentence each.
    pub why: Vec<String>,
}

/// A list that is cut where it grows too long.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct List {
    /// The first of them.
    pub shown: Vec<Listed>,
    /// How many there are in all.
    pub all: u64,
}

impl List {
    fn add(&mut self, listed: Listed) {
        self.all += 1;
        self.shown.push(listed);
        // Those with most against them stay.
        if self.shown.len() >= 2 * MOST_LISTED {
            self.cut();
        }
    }

    fn cut(&mut self) {
        self.shown
            .sort_by_key(|listed| std::cmp::Reverse(listed.why.len()));
        self.shown.truncate(MOST_LISTED);
    }

    /// How many are not shown.
    pub fn more(&self) -> u64 {
        self.all - self.shown.len() as u64
    }
}

/// How often each value stands on a plate, among readings that are facts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Distribution(pub BTreeMap<String, u64>);

impl Distribution {
    fn add(&mut self, value: Option<&Value>) {
        let mut count = |text: String| *self.0.entry(text).or_default() += 1;
        match value {
            Some(Value::Text(text)) => count(text.clone()),
            Some(numbers) => numbers.numbers().iter().for_each(|n| count(plain(*n))),
            None => {}
        }
    }
}

/// What there is to tell of a store.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Summary {
    /// How far all entries have come.
    pub total: Progress,
    /// Entries that show a photo or a motor that an entry before them shows.
    pub same: u64,
    /// The same by kind of source.
    pub sources: BTreeMap<&'static str, Progress>,
    /// The readings of each field, in the order in which fields are shown.
    pub fields: Vec<(Field, States)>,
    /// Entries whose readings contradict each other or what motors are like.
    pub implausible: List,
    /// Entries that could not be read.
    pub failed: List,
    /// Power, horsepower.
    pub hp: Distribution,
    /// Rated voltages.
    pub volts: Distribution,
    /// Frames.
    pub frames: Distribution,
}

impl Summary {
    /// Counts everything in the store. `each` hears of every entry.
    pub async fn of(store: &Store, mut each: impl FnMut()) -> Result<Summary, StoreError> {
        let mut summary = Summary {
            fields: Field::ALL.iter().map(|f| (*f, States::default())).collect(),
            ..Summary::default()
        };
        store
            .export(|exported| -> Result<(), StoreError> {
                summary.add(&exported);
                each();
                Ok(())
            })
            .await?;
        summary.implausible.cut();
        summary.failed.cut();
        Ok(summary)
    }

    fn add(&mut self, exported: &Exported) {
        let entry = &exported.entry;
        let kind: SourceKind = entry.source.kind;
        for progress in [
            &mut self.total,
            self.sources.entry(kind.word()).or_default(),
        ] {
            match entry.state {
                EntryState::Read if entry.questions == 0 => progress.settled += 1,
                EntryState::Read => progress.asks += 1,
                EntryState::Failed => progress.failed += 1,
                EntryState::Queued | EntryState::Reading => progress.waiting += 1,
            }
        }
        self.same += u64::from(exported.same.is_some());
        let listed = |why: Vec<String>| Listed {
            id: entry.id.clone(),
            file: entry.file_name.clone(),
            source: entry.source.to_string(),
            why,
        };
        if let Some((_, message)) = &entry.failure {
            self.failed.add(listed(vec![message.clone()]));
        }
        let Some(record) = &exported.record else {
            return;
        };
        self.count(record);
        let doubts: Vec<String> = record
            .checks
            .iter()
            .filter(|check| check.outcome == Outcome::Doubt)
            .map(in_words)
            .collect();
        if !doubts.is_empty() {
            self.implausible.add(listed(doubts));
        }
    }

    fn count(&mut self, record: &NameplateRecord) {
        for (field, states) in &mut self.fields {
            let state = record.fields.get(field).map_or(State::Absent, |r| r.state);
            *match state {
                State::Confirmed => &mut states.confirmed,
                State::Clear => &mut states.clear,
                State::Doubtful => &mut states.doubtful,
                State::Absent => &mut states.absent,
            } += 1;
        }
        let fact = |field: Field| record.fields.get(&field).and_then(|r| r.fact());
        self.hp.add(fact(Field::Hp));
        self.volts.add(fact(Field::Volts));
        self.frames.add(fact(Field::Frame));
    }
}

fn in_words(check: &CheckOutcome) -> String {
    match check.source.is_empty() {
        true => check.message.clone(),
        false => format!("{} ({})", check.message, check.source),
    }
}
