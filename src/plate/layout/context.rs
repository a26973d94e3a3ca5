//! What a label announces where it stands, and what speaks against it: a unit that is another value's, a capacitor's
//! volts, a label that is only the unit behind a value.

use super::super::labels::{Item, Kind, Label};
use super::super::lexicon::Target;
use super::super::sheet::{Sheet, Span};
use super::super::values;
use super::{Head, Layout, WORD_GAP, WORDS, fits};
use crate::record::Field;
use std::collections::{HashMap, HashSet};

/// The lines that are sentences, by their index: most of their words are neither labels nor values, as in
/// `REPLACES 1/6 - 1/4 HP WHEN FAN LOAD DOES NOT EXCEED NAMEPLATE AMPS`; and the line in which one ends.
pub(super) fn sentences(sheet: &Sheet<'_>, rows: &[Vec<Item>]) -> HashSet<usize> {
    const PLAIN: usize = 6;
    let mut counts: HashMap<usize, (usize, usize)> = HashMap::new();
    for item in rows.iter().flatten() {
        let letters = item.text.chars().filter(|c| c.is_alphabetic()).count();
        let figures = item.text.contains(|c: char| c.is_ascii_digit());
        let plain = matches!(item.kind, Kind::Value(None)) && letters >= 2 && !figures;
        let (words, all) = counts.entry(item.span.line).or_default();
        *words += usize::from(plain);
        *all += 1;
    }
    let sentence = |&(words, all): &(usize, usize)| words >= PLAIN && 2 * words >= all;
    let found = counts.iter().filter(|(_, count)| sentence(count));
    let mut sentences: HashSet<usize> = found.map(|(&line, _)| line).collect();
    let place = |line: usize| {
        let to = sheet.glyphs[line].len();
        sheet.place(Span { line, from: 0, to })
    };
    let ends: Vec<usize> = counts
        .keys()
        .copied()
        .filter(|&line| {
            let last = place(line);
            sentences.iter().map(|&above| place(above)).any(|above| {
                let height = above.height;
                (last.left - above.left).abs() < height
                    && last.right < above.right
                    && (0.5..1.8).contains(&((last.y - above.y) / height))
                    && (0.75..1.3).contains(&(last.height / height))
            })
        })
        .collect();
    sentences.extend(ends);
    sentences
}

impl Layout<'_> {
    /// What it costs that right behind a value stands the unit of another field, for which nothing else stands there:
    /// in `POWER 10 HP` the 10 is no kilowatts.
    pub(super) fn of_another(&self, head: &Head<'_>, target: Target, pieces: &[usize]) -> f64 {
        /// To the unit of a value it is no more than so many times as far as from its label.
        const FARTHER: f32 = 2.0;
        let Some(piece) = pieces.last().map(|&p| &self.pieces[p]) else {
            return 0.0;
        };
        // `VOLTS 575   AMPS / A 7.6`
        let first = &self.pieces[pieces[0]];
        let behind = first.row == head.row && first.at == head.at + 1;
        let near = match behind {
            true => WORD_GAP.min(FARTHER * first.item.gap.max(0.25)),
            false => WORD_GAP,
        };
        // `S.F. AMPS 9.8 A`
        let unit_of = match target {
            Target::Field(Field::ServiceFactorAmps) => Target::Field(Field::Amps),
            other => other,
        };
        // `V 115 ~`: alternating current.
        let current = |label: &Label| label.text == "~" && target == Target::Field(Field::Volts);
        let other = |label: &&Label| {
            *label != head.label
                && !current(label)
                && !label.targets.iter().any(|t| [target, unit_of].contains(t))
        };
        let unit = self.unit_behind(piece, near).filter(other);
        let fits_it = unit.is_some_and(|label| {
            let mut targets = label.targets.iter();
            targets.any(|&t| values::accepts(t, &piece.item.text))
        });
        let power = unit.is_some_and(|unit| unit.targets.iter().all(Target::is_power));
        if fits_it && power && target.is_power() {
            // A power in the unit of another.
            6.0
        } else if fits_it && !values::is_free(target) {
            3.0
        } else {
            0.0
        }
    }

    /// What a label may announce here: volts behind a capacitance are the capacitor's.
    pub(super) fn targets(&self, head: &Head<'_>) -> Vec<Target> {
        let mut targets = head.label.targets.clone();
        // `HP/CV`: horsepower in both languages of a plate.
        let before = head
            .at
            .checked_sub(1)
            .map(|at| &self.rows[head.row][at].kind);
        if let Some(Kind::Label(label)) = before
            && label.targets.contains(&Target::Field(Field::Hp))
        {
            let metric = targets.iter_mut().filter(|t| **t == Target::MetricHp);
            metric.for_each(|t| *t = Target::Field(Field::Hp));
        }
        // `SERIAL / DATE`: one number for both.
        if targets.iter().copied().any(values::is_makers_number) {
            targets.retain(|t| *t != Target::Other("date_code"));
        }
        let (volts, capacitor) = (
            Target::Field(Field::Volts),
            Target::Field(Field::CapacitorVolts),
        );
        let capacitance = Target::Field(Field::CapacitorUf);
        if targets.contains(&capacitance) && self.behind_capacitor_start(head) {
            return vec![Target::Other("start_capacitor")];
        }
        if targets.contains(&volts) && self.behind_start_capacitor(head) {
            return vec![Target::Other("start_capacitor")];
        }
        if targets.contains(&volts) && !targets.contains(&capacitor) && self.beside_capacitor(head)
        {
            targets.push(capacitor);
        }
        targets
    }

    /// Whether a unit stands behind the name of a motor that starts by a capacitor, `CAPACITOR START 400-480 MFD`.
    fn behind_capacitor_start(&self, head: &Head<'_>) -> bool {
        let before = self.rows[head.row][..head.at].iter().rev();
        let mut before = before.skip_while(|item| matches!(item.kind, Kind::Value(None)));
        before.next().is_some_and(|item| {
            let name = item.text.to_uppercase();
            let kind = matches!(&item.kind, Kind::Label(l) if l.targets == [Target::Mark("type")]);
            kind && name.contains("CAP") && name.ends_with("START")
        })
    }

    /// Whether a unit stands behind the capacitance of a start capacitor: `START CAP 400-480 MFD 125 V`.
    fn behind_start_capacitor(&self, head: &Head<'_>) -> bool {
        let before = self.rows[head.row][..head.at].iter().rev();
        let mut labels = before.take(WORDS).filter_map(|item| match &item.kind {
            Kind::Label(label) => Some(label),
            Kind::Value(_) => None,
        });
        let capacitance =
            |label: &&Label| label.targets.contains(&Target::Field(Field::CapacitorUf));
        let start = |label: &Label| label.targets.contains(&Target::Other("start_capacitor"));
        labels.next().is_some_and(|label| {
            start(label) || capacitance(&label) && labels.next().is_some_and(start)
        })
    }

    /// What speaks against a target where a label has several, or beside a capacitor; `None` rules it out.
    pub(super) fn context(&self, head: &Head<'_>, target: Target) -> Option<f64> {
        let beside = self.beside_capacitor(head);
        match target {
            Target::Field(Field::Volts) if beside => Some(4.0),
            Target::Field(Field::CapacitorVolts) if !beside && head.label.targets.len() > 1 => None,
            _ => Some(0.0),
        }
    }

    /// Whether a voltage follows a capacitance: `7.5 MFD 370 VAC`, or `MFD` and `VAC` as neighbours.
    pub fn beside_capacitor(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        let capacitance = |item: &Item| {
            let label = match &item.kind {
                Kind::Label(label) => Some(label),
                Kind::Value(unit) => unit.as_ref(),
            };
            label.is_some_and(|l| {
                l.targets.iter().any(|t| {
                    matches!(
                        t,
                        Target::Field(Field::CapacitorUf) | Target::Other("start_capacitor")
                    )
                })
            })
        };
        let mut values = 0;
        let mut way = row[head.at].gap;
        for at in (0..head.at).rev() {
            if capacitance(&row[at]) {
                return true;
            }
            // Past its own value and the capacitance, but not past another label.
            match &row[at].kind {
                Kind::Value(None) => values += 1,
                Kind::Value(Some(_)) | Kind::Label(_) => return false,
            }
            way += row[at].gap;
            if values > 2 || way > 12.0 {
                return false;
            }
        }
        false
    }

    /// Whether a label has its value in another label: it is only the unit behind a value whose label says the same,
    /// `CAPACITOR 5 MFD`.
    pub(super) fn is_spent(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        // `TYPE PSC`: the kind of the motor is a word of its own.
        let next = self.label_behind(head.row, head.at, WORD_GAP);
        let kind = next.is_some_and(|label| label.targets.contains(&Target::Mark("type")));
        if kind && head.label.targets.contains(&Target::Other("type")) {
            return true;
        }
        let values = row[..head.at].iter().rev().take(WORDS - 1);
        let count = values
            .take_while(|i| matches!(i.kind, Kind::Value(None)))
            .count();
        let (value, Some(label)) = (head.at - count, (head.at - count).checked_sub(1)) else {
            return false;
        };
        let announced = match &row[label].kind {
            // `50 Hz 60 Hz`: the first one is the unit of another value.
            Kind::Label(before)
                if count > 0
                    && before.text != head.label.text
                    && !self.is_behind_its_value(head.row, label, before) =>
            {
                &before.targets
            }
            _ => return false,
        };
        let words: Vec<&str> = row[value..head.at]
            .iter()
            .map(|i| i.text.as_str())
            .collect();
        let words = words.join(" ");
        // `MAX FAN SPEED 1050 RPM`, `START CAP 400-480 MFD`
        let other = |t: &Target| match t {
            Target::Field(Field::Rpm) => announced.contains(&Target::Other("other_speed")),
            Target::Field(Field::CapacitorUf) => {
                announced.contains(&Target::Other("start_capacitor"))
            }
            _ => false,
        };
        let says = |t: &&Target| match announced.contains(t) {
            true => values::accepts(**t, &words),
            false => other(t),
        };
        head.label.unit && head.item.gap < WORD_GAP && head.label.targets.iter().any(|t| says(&t))
    }

    /// Whether a label of a row is the unit of the figures close before it: of `60 ~ 1 PH` the sign is no label of the phases.
    fn is_behind_its_value(&self, row: usize, at: usize, label: &Label) -> bool {
        let row = &self.rows[row];
        let before = at.checked_sub(1).map(|before| &row[before]);
        let own = before.is_some_and(|before| {
            matches!(before.kind, Kind::Value(None)) && fits(label, &before.text)
        });
        label.unit && row[at].gap < WORD_GAP && own
    }

    /// What it costs to take a word of the trade for the unit of the value before it, where the one behind it is such a
    /// value as well: in `GPM 90 VOLTS 208-230/460` the 90 belongs to the column before.
    pub(super) fn spoken_for(&self, head: &Head<'_>) -> f32 {
        let written_out = head
            .label
            .text
            .chars()
            .filter(|c| c.is_alphabetic())
            .count()
            > 3;
        let next = self.rows[head.row].get(head.at + 1);
        let own =
            next.is_some_and(|n| matches!(n.kind, Kind::Value(None)) && fits(head.label, &n.text));
        if written_out && own && !self.labels_behind[head.row] {
            2.0
        } else {
            0.0
        }
    }
}
