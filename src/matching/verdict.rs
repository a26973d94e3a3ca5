//! A verdict: one criterion, its outcome, and the numbers and the source behind it.

use serde::Serialize;
use std::borrow::Cow;
use std::fmt;

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Criterion {
    /// Air-over or general purpose.
    Class,
    /// Number of phases.
    Phase,
    /// Frequency.
    Hertz,
    /// Voltage.
    Volts,
    /// Nameplate amps of an air-over motor.
    Amps,
    /// Horsepower times service factor.
    Capacity,
    /// Poles and full-load speed.
    Speed,
    /// Enclosure.
    Enclosure,
    /// Feet and shaft height.
    Frame,
    /// Shaft diameter, length and key.
    Shaft,
    /// Faces, flanges and special mountings.
    Mounting,
    /// Side of the conduit box.
    ConduitBox,
    /// Direction of rotation.
    Rotation,
    /// Insulation class.
    Insulation,
    /// Duty or time rating.
    Duty,
    /// Highest ambient temperature.
    Ambient,
    /// Run capacitor.
    Capacitor,
    /// Length over all against the room there is.
    Length,
    /// Design letter: starting torque and current.
    Design,
    /// Thermal protection, and whether the motor may start by itself.
    Protection,
    /// Bearings and the position of the shaft.
    Bearings,
}

impl fmt::Display for Criterion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Criterion::Class => "class",
            Criterion::Phase => "phase",
            Criterion::Hertz => "frequency",
            Criterion::Volts => "volts",
            Criterion::Amps => "amps",
            Criterion::Capacity => "capacity",
            Criterion::Speed => "speed",
            Criterion::Enclosure => "enclosure",
            Criterion::Frame => "frame",
            Criterion::Shaft => "shaft",
            Criterion::Mounting => "mounting",
            Criterion::ConduitBox => "conduit box",
            Criterion::Rotation => "rotation",
            Criterion::Insulation => "insulation",
            Criterion::Duty => "duty",
            Criterion::Ambient => "ambient",
            Criterion::Capacitor => "capacitor",
            Criterion::Length => "length",
            Criterion::Design => "design",
            Criterion::Protection => "protection",
            Criterion::Bearings => "bearings",
        })
    }
}

/// How a comparison ends, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Good as it is.
    Pass,
    /// Good after mechanical work, whose numbers are told.
    Work,
    /// Something must be confirmed first.
    Ask,
    /// Not good.
    Fail,
}

/// What a person is to be asked. The key is that of a field, or of what the place demands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Unknown {
    pub(super) key: &'static str,
    pub(super) ask: &'static str,
}

/// One criterion and how a stock motor stands to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// What is compared.
    pub criterion: Criterion,
    /// How it ends.
    pub outcome: Outcome,
    /// What the old motor had, or the place demands.
    pub had: Cow<'static, str>,
    /// What the stock motor offers.
    pub offers: Cow<'static, str>,
    /// Why, with the numbers.
    pub why: Cow<'static, str>,
    /// Where the rule comes from.
    pub source: &'static str,
    /// What is not known of the old motor or the place, where that is what keeps it from passing.
    #[serde(skip)]
    pub(super) unknown: Option<Unknown>,
}

/// No published source; the design's rule of the trade.
pub(super) const COMMON: &str = "common practice";

/// What is shown for a value that nobody knows.
pub(super) const UNKNOWN: &str = "not known";

/// Makes verdicts of one criterion.
#[derive(Debug, Clone)]
pub(super) struct Judge {
    criterion: Criterion,
    had: Cow<'static, str>,
    offers: Cow<'static, str>,
    source: &'static str,
}

impl Judge {
    pub(super) fn new(
        criterion: Criterion,
        had: impl Into<Cow<'static, str>>,
        offers: impl Into<Cow<'static, str>>,
        source: &'static str,
    ) -> Judge {
        Judge {
            criterion,
            had: had.into(),
            offers: offers.into(),
            source,
        }
    }

    pub(super) fn give(self, outcome: Outcome, why: impl Into<Cow<'static, str>>) -> Verdict {
        Verdict {
            criterion: self.criterion,
            outcome,
            had: self.had,
            offers: self.offers,
            why: why.into(),
            source: self.source,
            unknown: None,
        }
    }

    pub(super) fn pass(self, why: impl Into<Cow<'static, str>>) -> Verdict {
        self.give(Outcome::Pass, why)
    }

    pub(super) fn work(self, why: impl Into<Cow<'static, str>>) -> Verdict {
        self.give(Outcome::Work, why)
    }

    pub(super) fn ask(self, why: impl Into<Cow<'static, str>>) -> Verdict {
        self.give(Outcome::Ask, why)
    }

    pub(super) fn fail(self, why: impl Into<Cow<'static, str>>) -> Verdict {
        self.give(Outcome::Fail, why)
    }

    /// Not known of the old motor or of the place: a question to whoever stands there.
    pub(super) fn unknown(self, key: &'static str, ask: &'static str) -> Verdict {
        Verdict {
            unknown: Some(Unknown { key, ask }),
            ..self.give(Outcome::Ask, ask)
        }
    }

    /// Not known of the stock motor: a look at the shelf.
    pub(super) fn not_listed(self, what: &str) -> Verdict {
        self.ask(format!(
            "the list does not give its {what}; look at its plate"
        ))
    }
}
