//! What every page has: its shell, and small things that many of them show.

use super::error::PageError;
use super::person::Person;
use crate::record::State;
use askama::Template;
use axum::response::Html;

/// What the frame around a page needs.
#[derive(Debug, Clone, Default)]
pub(super) struct Shell {
    /// Who looks at it; empty on pages for those who are not let in.
    pub(super) who: String,
    /// The token that its forms send.
    pub(super) csrf: String,
    /// Which part of the menu it belongs to.
    pub(super) section: &'static str,
    /// Whether phones may be paired.
    pub(super) lan: bool,
}

impl Shell {
    pub(super) fn new(person: &Person, section: &'static str) -> Shell {
        Shell {
            who: person.name.clone(),
            csrf: person.csrf.clone(),
            section,
            lan: person.lan,
        }
    }

    /// The frame for those who are not let in.
    pub(super) fn outside() -> Shell {
        Shell::default()
    }
}

/// A finished page.
pub(super) type Page = Result<Html<String>, PageError>;

pub(super) fn page(template: &impl Template) -> Page {
    Ok(Html(template.render()?))
}

/// A state as its word and its shape say it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mark {
    /// For the style sheet.
    pub(super) class: &'static str,
    /// The shape.
    pub(super) shape: &'static str,
    /// The word.
    pub(super) word: &'static str,
}

impl From<State> for Mark {
    fn from(state: State) -> Mark {
        let (class, shape, word) = match state {
            State::Clear => ("clear", "●", "clear"),
            State::Doubtful => ("doubtful", "▲", "doubtful"),
            State::Absent => ("absent", "○", "absent"),
            State::Confirmed => ("confirmed", "✔", "confirmed"),
        };
        Mark { class, shape, word }
    }
}

/// How long ago, in words.
pub(super) fn age(ms: i64) -> String {
    let seconds = (jiff::Timestamp::now().as_millisecond() - ms).max(0) / 1000;
    match seconds {
        0..60 => "just now".to_owned(),
        60..3600 => format!("{} min ago", seconds / 60),
        3600..86400 => format!("{} h ago", seconds / 3600),
        _ => format!("{} days ago", seconds / 86400),
    }
}

/// A time as it is written in a history, in UTC.
pub(super) fn moment(ms: i64) -> String {
    jiff::Timestamp::from_millisecond(ms).map_or(String::new(), |t| {
        t.strftime("%Y-%m-%d %H:%M UTC").to_string()
    })
}
