//! The pieces that a sheet is made of.

/// A piece of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// What the sheet is.
    Title(String),
    /// What follows.
    Heading(String),
    /// A candidate: what it is called, and how it stands.
    Candidate {
        /// The shop's own number.
        name: String,
        /// In a word or two.
        outcome: Cell,
    },
    /// The piece of the photo with the plate.
    Photo,
    /// A sentence.
    Text(String),
    /// A sentence that must be seen.
    Alert(String),
    /// Rows of cells. The widths are shares of the page's width.
    Table {
        /// Share of each column.
        widths: &'static [f32],
        /// The cells, row by row.
        rows: Vec<Vec<Cell>>,
    },
}

/// How a text is set. What matters is also said in words: most sheets are printed in black.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Like the rest.
    Plain,
    /// Bold.
    Strong,
    /// Grey: sources.
    Faint,
    /// Bold, green: good as it is.
    Good,
    /// Bold, blue: takes work.
    Work,
    /// Bold, brown: must be confirmed.
    Open,
    /// Bold, red: does not do.
    Bad,
}

impl Tone {
    /// The tone's name in a style sheet.
    pub fn name(self) -> &'static str {
        match self {
            Tone::Plain => "tone-plain",
            Tone::Strong => "tone-strong",
            Tone::Faint => "tone-faint",
            Tone::Good => "tone-good",
            Tone::Work => "tone-work",
            Tone::Open => "tone-open",
            Tone::Bad => "tone-bad",
        }
    }
}

/// A text in a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// How it is set.
    pub tone: Tone,
    /// What it says.
    pub text: String,
}

impl Cell {
    /// A text like the rest.
    pub fn plain(text: impl Into<String>) -> Cell {
        Cell::of(Tone::Plain, text)
    }

    /// A text in a tone.
    pub fn of(tone: Tone, text: impl Into<String>) -> Cell {
        Cell {
            tone,
            text: text.into(),
        }
    }
}
