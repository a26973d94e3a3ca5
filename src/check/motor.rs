//! One way to read the whole plate: for every field the candidate that is assumed, for the rules to look at.

use crate::plate::{Candidate, Plate};
use crate::record::{Field, Pairing, RatingPoint, notation, pair};
use crate::units::{Amps, Hertz, Horsepower, Kilowatts, Volts};

/// How many fields there are.
const FIELDS: usize = Field::ALL.len();

/// What stands on a plate outside its fields and bears on their values.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Marks {
    /// The plate says air-over somewhere.
    pub air_over: bool,
    /// The plate says that a run capacitor is used (PSC, CSCR).
    pub run_capacitor: bool,
    /// The plate names a kind of motor that is single-phase (PSC, CAP START, SHADED POLE, ...).
    pub single_phase_type: bool,
    /// Shaded pole: low efficiency, large slip.
    pub shaded_pole: bool,
    /// Locked-rotor current, amperes, where the plate gives one number.
    pub locked_rotor: Option<f64>,
    /// The number of poles, where the plate names one: `6 POLE`.
    pub poles: Option<u32>,
    /// The values are read off a photo, where a figure may be worn away, and not typed.
    pub worn: bool,
}

impl Marks {
    /// The marks of a plate.
    pub fn of(plate: &Plate) -> Marks {
        let words = plate.words.iter().map(|w| w.text.as_str());
        let others = plate.other.iter().map(|o| o.printed.as_str());
        let text = words.chain(others).collect::<Vec<_>>().join(" ");
        let lra = plate.other.iter().find(|o| o.kind == "locked_rotor_amps");
        let lra = lra.map(|o| notation::groups(Field::Amps, &o.printed).flat());
        let capacitor = plate.fields.contains_key(&Field::CapacitorUf);
        Marks {
            air_over: super::class::says_air_over(plate),
            locked_rotor: lra.filter(|n| n.len() == 1).map(|n| n[0]),
            worn: true,
            ..Marks::of_text(&text, capacitor)
        }
    }

    /// The marks that text tells alone; `capacitor` is whether the plate gives a run capacitor's value.
    pub fn of_text(text: &str, capacitor: bool) -> Marks {
        let text = text.to_uppercase();
        let tokens: Vec<&str> = text
            .split(|c: char| !c.is_ascii_alphanumeric())
            .filter(|t| !t.is_empty())
            .collect();
        let token = |names: &[&str]| tokens.iter().any(|t| names.contains(t));
        let pair = |a: &str, b: &str| tokens.windows(2).any(|w| w[0] == a && w[1] == b);
        let shaded_pole = pair("SHADED", "POLE") || token(&["SHPOLE"]);
        let run_capacitor = token(&["PSC", "CSCR"]) || capacitor;
        Marks {
            air_over: false,
            run_capacitor,
            single_phase_type: run_capacitor
                || shaded_pole
                || token(&["CSIR", "PSC"])
                || pair("CAP", "START")
                || pair("CAPACITOR", "START")
                || pair("SPLIT", "PHASE"),
            shaded_pole,
            locked_rotor: None,
            poles: poles(&tokens),
            worn: false,
        }
    }
}

/// The poles that words name; `None` where they name several, as of two speeds.
fn poles(words: &[&str]) -> Option<u32> {
    let number = |word: &str| word.parse().ok().filter(|n: &u32| (2..=16).contains(n));
    let named = (1..words.len()).filter(|&at| words[at].starts_with("POLE"));
    let mut counts = named.filter_map(|at| {
        let several = at > 1 && number(words[at - 2]).is_some();
        number(words[at - 1]).filter(|n| n % 2 == 0 && !several)
    });
    let first = counts.next()?;
    counts.all(|n| n == first).then_some(first)
}

/// What a field is assumed to be.
#[derive(Debug, Clone, Copy, Default)]
pub(super) enum Slot<'a> {
    /// The plate does not show it.
    #[default]
    Absent,
    /// It shows something, and none of the candidates.
    Other,
    /// This candidate.
    Read(&'a Candidate),
}

/// One way to read the whole plate.
#[derive(Debug, Clone)]
pub(super) struct Motor<'a> {
    slots: [Slot<'a>; FIELDS],
    /// What stands outside the fields.
    pub marks: &'a Marks,
}

impl<'a> Motor<'a> {
    /// A plate without fields.
    pub fn new(marks: &'a Marks) -> Motor<'a> {
        Motor {
            slots: [Slot::Absent; FIELDS],
            marks,
        }
    }

    /// The same motor with another reading of `field`.
    pub fn with<'b>(&self, field: Field, slot: Slot<'b>) -> Motor<'b>
    where
        'a: 'b,
    {
        let mut motor: Motor<'b> = Motor {
            slots: self.slots,
            marks: self.marks,
        };
        motor.set(field, slot);
        motor
    }

    /// Assumes a reading.
    pub fn set(&mut self, field: Field, slot: Slot<'a>) {
        self.slots[field as usize] = slot;
    }

    /// What is assumed of `field`.
    pub fn slot(&self, field: Field) -> Slot<'a> {
        self.slots[field as usize]
    }

    /// The candidate that is assumed.
    pub fn candidate(&self, field: Field) -> Option<&'a Candidate> {
        match self.slot(field) {
            Slot::Read(candidate) => Some(candidate),
            Slot::Absent | Slot::Other => None,
        }
    }

    /// Its characters.
    pub fn printed(&self, field: Field) -> Option<&'a str> {
        self.candidate(field).map(|c| c.printed.as_str())
    }

    /// Its numbers; empty for text and for what is not there.
    pub fn numbers(&self, field: Field) -> &'a [f64] {
        self.candidate(field).map_or(&[], |c| c.value.numbers())
    }

    /// Its first number.
    pub fn number(&self, field: Field) -> Option<f64> {
        self.numbers(field).first().copied()
    }

    /// Its largest number.
    pub fn largest(&self, field: Field) -> Option<f64> {
        self.numbers(field).iter().copied().reduce(f64::max)
    }

    /// Its text.
    pub fn text(&self, field: Field) -> Option<&'a str> {
        self.candidate(field).and_then(|c| c.value.text())
    }

    /// 1 or 3.
    pub fn phase(&self) -> Option<u8> {
        self.number(Field::Phase).map(|n| n as u8)
    }

    /// The highest power, in horsepower, from whichever unit the plate uses.
    pub fn power(&self) -> Option<Horsepower> {
        let kilowatts = || self.largest(Field::Kw).map(|kw| Kilowatts(kw).into());
        self.largest(Field::Hp).map(Horsepower).or_else(kilowatts)
    }

    /// The frequencies. Where the plate shows none it is taken for a 60 Hz one, or perhaps a 50 Hz one if it
    /// gives kilowatts or a voltage of such systems.
    pub fn hertz(&self) -> Vec<Hertz> {
        const AT_50: &[f64] = &[220.0, 240.0, 380.0, 400.0, 415.0, 690.0];
        match self.numbers(Field::Hertz) {
            [] => {
                let volts = self.numbers(Field::Volts);
                let perhaps_50 =
                    self.candidate(Field::Kw).is_some() || volts.iter().any(|v| AT_50.contains(v));
                let both = [Hertz(60.0), Hertz(50.0)];
                both[..if perhaps_50 { 2 } else { 1 }].to_vec()
            }
            printed => printed.iter().copied().map(Hertz).collect(),
        }
    }

    /// Whether the motor shows what only a general-purpose one does: a service factor above 1, a
    /// locked-rotor code, or three phases from one horsepower up.
    pub fn looks_general_purpose(&self) -> bool {
        let three_phase = self.phase() == Some(3) && self.power().is_some_and(|p| p.0 >= 0.99);
        !self.marks.air_over
            && (self.number(Field::ServiceFactor).is_some_and(|sf| sf > 1.0)
                || self.text(Field::KvaCode).is_some()
                || three_phase)
    }

    /// Its rating points. Values that the plate prints in another unit (watts, metric horsepower) are
    /// taken over from the candidates.
    pub fn ratings(&self) -> Pairing {
        let mut pairing = pair(|field| self.printed(field));
        for point in &mut pairing.points {
            point.hp = point.hp.map(|v| Horsepower(self.meant(Field::Hp, v.0)));
            point.kw = point.kw.map(|v| Kilowatts(self.meant(Field::Kw, v.0)));
            point.volts = point.volts.map(|v| Volts(self.meant(Field::Volts, v.0)));
            point.amps = point.amps.map(|v| Amps(self.meant(Field::Amps, v.0)));
        }
        pairing
    }

    /// The value that a printed number stands for.
    fn meant(&self, field: Field, printed: f64) -> f64 {
        let values = self.numbers(field);
        let shown = self
            .printed(field)
            .map(|p| notation::groups(field, p).flat());
        let shown = shown.unwrap_or_default();
        let at = shown.iter().position(|n| *n == printed);
        match at {
            Some(at) if shown.len() == values.len() => values[at],
            _ => printed,
        }
    }

    /// The rating points of its highest power.
    pub fn full_power_points(&self) -> Vec<RatingPoint> {
        let points = self.ratings().points;
        let most = points
            .iter()
            .filter_map(|p| p.power())
            .map(|p| p.0)
            .fold(0.0, f64::max);
        let full = |p: &RatingPoint| p.power().is_none_or(|power| power.0 >= most * 0.999);
        points.into_iter().filter(full).collect()
    }
}
