//! Rating points: which volts, amps, power and speed on a plate belong together.

use super::notation::{self, Groups};
use super::{Field, Value};
use crate::units::{Amps, Hertz, Horsepower, Kilowatts, Rpm, Volts};
use serde::{Deserialize, Serialize};
use std::fmt;

/// One operating point of a motor. What the plate does not say is `None`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RatingPoint {
    /// Line voltage.
    pub volts: Option<Volts>,
    /// Frequency.
    pub hertz: Option<Hertz>,
    /// Number of phases.
    pub phase: Option<u8>,
    /// Shaft power in horsepower.
    pub hp: Option<Horsepower>,
    /// Shaft power in kilowatts.
    pub kw: Option<Kilowatts>,
    /// Full-load current.
    pub amps: Option<Amps>,
    /// Full-load speed.
    pub rpm: Option<Rpm>,
    /// Connection or speed tap, where the plate names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub connection: Option<String>,
}

impl RatingPoint {
    /// Shaft power in horsepower, from whichever unit the plate uses.
    pub fn power(&self) -> Option<Horsepower> {
        self.hp.or(self.kw.map(Horsepower::from))
    }
}

/// Whether rating points differ in power or frequency, not in voltage, current and speed alone.
pub fn varies(points: &[RatingPoint]) -> bool {
    let same = |a: &RatingPoint, b: &RatingPoint| (a.hp, a.kw, a.hertz) == (b.hp, b.kw, b.hertz);
    points.windows(2).any(|pair| !same(&pair[0], &pair[1]))
}

/// On one line, what is known of it: `5 hp, 230 V, 13 A, 3 phase, 60 Hz, 1750 rpm`.
impl fmt::Display for RatingPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [
            self.hp.map(|h| h.to_string()),
            self.kw.map(|k| k.to_string()),
            self.volts.map(|v| v.to_string()),
            self.amps.map(|a| a.to_string()),
            self.phase.map(|p| format!("{p} phase")),
            self.hertz.map(|h| h.to_string()),
            self.rpm.map(|r| r.to_string()),
            self.connection.clone(),
        ];
        let known: Vec<String> = parts.into_iter().flatten().collect();
        f.write_str(&known.join(", "))
    }
}

/// Why the rows of a plate do not pair up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unpaired {
    /// More or fewer currents than voltages.
    #[error("{amps} amps stand against {volts} volts")]
    AmpsAndVolts {
        /// How many currents there are.
        amps: usize,
        /// How many voltages.
        volts: usize,
    },
    /// More or fewer currents than powers, speeds or frequencies.
    #[error("{amps} amps stand against {ratings} ratings")]
    AmpsAndRatings {
        /// How many currents there are.
        amps: usize,
        /// How many ratings.
        ratings: usize,
    },
    /// As many voltages as ratings, or fewer, and nothing says which belong together.
    #[error("several voltages stand beside several ratings")]
    VoltsAndRatings,
    /// Their counts differ.
    #[error("the powers, speeds and frequencies do not pair up")]
    Ratings,
}

/// Rating points, and whether the plate's rows pair up.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairing {
    /// The points, in the order of the plate.
    pub points: Vec<RatingPoint>,
    /// Why the pairing is doubtful; `None` when the counts agree.
    pub doubt: Option<Unpaired>,
}

/// Pairs the printed rows of a plate into rating points. `printed` gives the characters of a field.
///
/// Volts pair with amps one to one (`208-230/460` with `13.6-12.8/6.4`) or group by group (`208-230/460`
/// with `6.4/3.2`); several powers, speeds or frequencies at one voltage pair with as many amps.
///
/// A table with one row a rating is printed with blanks between the rows (`230/400 460` V, `50 60` Hz): then
/// each row is paired by itself.
pub fn pair<'a>(printed: impl Fn(Field) -> Option<&'a str>) -> Pairing {
    let plain: Vec<(Field, String)> = [Field::Volts, Field::Amps]
        .into_iter()
        .filter_map(|field| Some((field, without_connections(printed(field)?))))
        .collect();
    let printed = |field| match plain.iter().find(|(known, _)| *known == field) {
        Some((_, text)) => Some(text.as_str()),
        None => printed(field),
    };
    let Some(count) = table_rows(printed) else {
        return pair_row(printed);
    };
    let rows = (0..count).map(|row| {
        pair_row(|field| {
            let cells = printed(field)?;
            // Powers are written with blanks themselves (`1 1/2`): their rows are parted by strokes.
            let parted = by_strokes(field, cells);
            let cell = match field {
                // And `60/50` Hz may stand over two columns of volts.
                Field::Hp | Field::Hertz | Field::Kw | Field::Rpm if parted.len() == count => {
                    parted.get(row).copied()
                }
                Field::Hp => None,
                _ => cells
                    .split_whitespace()
                    .nth(row)
                    .filter(|_| rows_of(field, cells) == count),
            };
            cell.or(Some(cells))
        })
    });
    let rows: Vec<Pairing> = rows.collect();
    Pairing {
        doubt: rows.iter().find_map(|r| r.doubt),
        points: rows.into_iter().flat_map(|r| r.points).collect(),
    }
}

/// Volts or amps without the signs of the connections that they are for: `400 Δ/690 Y 460 Δ`, `400 D`.
fn without_connections(printed: &str) -> String {
    let signs = ['Δ', '∆', '△', 'Y', 'D'];
    if !printed.contains(signs) {
        return printed.to_owned();
    }
    let numbers = printed.replace(signs, " ");
    let cells: Vec<&str> = numbers.split_whitespace().collect();
    cells.join(" ").replace(" /", "/").replace("/ ", "/")
}

/// How many blank-separated cells with numbers `printed` has; 1 when it is not made of such.
fn rows_of(field: Field, printed: &str) -> usize {
    let mut cells = printed.split_whitespace();
    let numeric = |cell: &str| !notation::groups(field, cell).0.is_empty();
    match cells.clone().count() {
        count if count > 1 && cells.all(numeric) => count,
        _ => 1,
    }
}

/// Cells of one figure each with strokes between them: `1/.25` hp has two, `7 1/2/1.9` hp too, and `1/2` hp is one half. All
/// in one where they are not made so.
fn by_strokes(field: Field, printed: &str) -> Vec<&str> {
    let figures = |text: &str| notation::groups(field, text).flat();
    let (mut cells, mut from) = (Vec::new(), 0);
    // The stroke of a fraction parts no cells: what stands before and behind a stroke reads the same without it.
    for (at, stroke) in printed.match_indices('/') {
        let (cell, rest) = (&printed[from..at], &printed[at + stroke.len()..]);
        let whole = figures(&printed[from..]);
        let parts = [figures(cell), figures(rest)];
        if parts[0].len() == 1 && parts.concat() == whole {
            cells.push(cell);
            from = at + stroke.len();
        }
    }
    cells.push(&printed[from..]);
    let single = |cell: &&str| figures(cell).len() == 1;
    match cells.iter().all(single) {
        true => cells,
        false => vec![printed],
    }
}

/// The number of rows when volts and at least one other figure are printed row by row, and every figure has
/// that many rows or one for all.
fn table_rows<'a>(printed: impl Fn(Field) -> Option<&'a str>) -> Option<usize> {
    let fields = [Field::Amps, Field::Hertz, Field::Hp, Field::Kw, Field::Rpm];
    let count = |field| {
        printed(field).map(|p| match field {
            Field::Hp => by_strokes(field, p).len(),
            _ => rows_of(field, p),
        })
    };
    let rows = count(Field::Volts).filter(|&rows| rows > 1)?;
    let strokes = |field| {
        let one_each = matches!(field, Field::Hertz | Field::Kw | Field::Rpm)
            && printed(field).is_some_and(|p| by_strokes(field, p).len() == rows);
        if one_each { Some(rows) } else { count(field) }
    };
    let others: Vec<usize> = fields.into_iter().filter_map(strokes).collect();
    let fits = others.iter().all(|&n| n == 1 || n == rows) && others.contains(&rows);
    fits.then_some(rows)
}

/// For each voltage the index of its supply: groups as printed, except that neighbours such as `208/230` are
/// one range, whatever stands between them.
fn supplies(volts: &[f64], group_of: &[usize]) -> Vec<usize> {
    const ONE_RANGE: f64 = 1.2;
    let mut supply = 0;
    let mut index = vec![0; volts.len()];
    for i in 1..volts.len() {
        let ratio = volts[i] / volts[i - 1];
        let apart = !(1.0 / ONE_RANGE..=ONE_RANGE).contains(&ratio);
        supply += usize::from(group_of[i] != group_of[i - 1] && apart);
        index[i] = supply;
    }
    index
}

/// Whether voltages are those of one supply, however they are parted: `208/230`.
fn near(volts: &[f64]) -> bool {
    const NEAR: f64 = 1.12;
    let close = |pair: &[f64]| pair[0].max(pair[1]) <= NEAR * pair[0].min(pair[1]);
    volts.windows(2).all(close)
}

/// Whether speeds are the ends of a range, of a motor with variable speed: `300-1200`. Windings for several speeds are
/// listed from the highest down (common practice).
fn is_range(printed: &str, speeds: &[f64]) -> bool {
    matches!(speeds, [low, high] if *high >= 2.0 * low) && !printed.contains(['/', ' '])
}

/// Pairs what stands in one row.
fn pair_row<'a>(printed: impl Fn(Field) -> Option<&'a str>) -> Pairing {
    let groups = |field| {
        let found = printed(field).map_or_else(Groups::default, |p| notation::groups(field, p));
        let possible = found.0.iter().flatten().all(|n| notation::is_possible(*n));
        if possible { found } else { Groups::default() }
    };
    let flat = |field| groups(field).flat();
    let volts = groups(Field::Volts);
    let amps = groups(Field::Amps);
    let (hp, kw, hertz) = (flat(Field::Hp), flat(Field::Kw), flat(Field::Hertz));
    let speeds = flat(Field::Rpm);
    let rpm = match printed(Field::Rpm) {
        Some(range) if is_range(range, &speeds) => speeds[1..].to_vec(),
        _ => speeds,
    };
    let phase = match printed(Field::Phase).and_then(|p| notation::parse(Field::Phase, p)) {
        Some(Value::Number(n)) => Some(n as u8),
        _ => None,
    };
    let rows = [&hp, &kw, &rpm, &hertz];
    let variants = rows.iter().map(|r| r.len()).max().unwrap_or(0).max(1);
    let uneven = rows.iter().any(|r| r.len() > 1 && r.len() != variants);

    let at = |row: &[f64], i: usize| {
        if row.len() == 1 {
            row.first()
        } else {
            row.get(i)
        }
        .copied()
    };
    let point = |volts: Option<f64>, amps: Option<f64>, variant: usize| RatingPoint {
        volts: volts.map(Volts),
        amps: amps.map(Amps),
        hertz: at(&hertz, variant).map(Hertz),
        hp: at(&hp, variant).map(Horsepower),
        kw: at(&kw, variant).map(Kilowatts),
        rpm: at(&rpm, variant).map(Rpm),
        phase,
        connection: None,
    };

    let (volt_list, amp_list) = (volts.flat(), amps.flat());
    let group_of = supplies(&volt_list, &volts.group_indices());
    let count = group_of.last().map_or(0, |last| last + 1);
    let by_group = amps.0.len() == count && amps.0.iter().all(|g| g.len() == 1);
    let one_to_one = amp_list.len() == volt_list.len();
    // The current at each voltage, where the plate gives one for each or one for each supply.
    let amps_at = |i: usize| {
        let at = if one_to_one { i } else { group_of[i] };
        amp_list.get(at).copied().filter(|_| one_to_one || by_group)
    };
    // Each supply with its own variant: 400 V at 50 Hz, 460 V at 60 Hz.
    let in_order = || -> Vec<RatingPoint> {
        let count = volts.0.len().max(variants);
        let rows = (0..count).flat_map(|i| {
            let served = volts.0.get(i.min(volts.0.len().saturating_sub(1)));
            served.into_iter().flatten().map(move |&v| (i, v))
        });
        let a = |i: usize| (amp_list.len() == count).then(|| amp_list[i]);
        rows.map(|(i, v)| point(Some(v), a(i), i.min(variants - 1)))
            .collect()
    };
    let mut doubt = uneven.then_some(Unpaired::Ratings);
    let mut points = Vec::new();
    if variants == 1 {
        let served = volt_list.iter().enumerate();
        points.extend(served.map(|(i, &v)| point(Some(v), amps_at(i), 0)));
        if volt_list.is_empty() && !(amp_list.is_empty() && rows.iter().all(|r| r.is_empty())) {
            let lone = (amp_list.len() == 1).then(|| amp_list[0]);
            points.push(point(None, lone, 0));
        }
        let lone = volt_list.is_empty() && amp_list.len() == 1;
        if !amp_list.is_empty() && !one_to_one && !by_group && !lone {
            doubt.get_or_insert(Unpaired::AmpsAndVolts {
                amps: amp_list.len(),
                volts: volt_list.len(),
            });
        }
    } else if volts.0.len() <= 1 || near(&volt_list) && !(one_to_one && one_flux(&in_order())) {
        let serves: Vec<Option<f64>> = match volt_list.as_slice() {
            [] => vec![None],
            several => several.iter().copied().map(Some).collect(),
        };
        // One current beside several speeds or frequencies of one power is the one of the highest speed, and of every
        // frequency (common practice); beside several powers another current is missing.
        let lone = matches!(amp_list[..], [_]) && hp.len() <= 1 && kw.len() <= 1;
        let fastest = rpm.iter().copied().reduce(f64::max);
        for variant in 0..variants {
            let highest = rpm.len() <= 1 || rpm.get(variant).copied() == fastest;
            for &v in &serves {
                let a = if lone && highest {
                    Some(amp_list[0])
                } else {
                    (amp_list.len() == variants).then(|| amp_list[variant])
                };
                points.push(point(v, a, variant));
            }
        }
        if !amp_list.is_empty() && amp_list.len() != variants && !lone {
            doubt.get_or_insert(Unpaired::AmpsAndRatings {
                amps: amp_list.len(),
                ratings: variants,
            });
        }
    } else if hertz.len() == variants
        && rows.iter().filter(|r| r.len() > 1).count() == 1
        && (one_to_one || by_group)
        && !(volts.0.len() == variants && one_flux(&in_order()))
    {
        // One power and speed for every frequency: `115/208-230` V, `6.2/3.1` A, `50/60` Hz.
        for (i, &v) in volt_list.iter().enumerate() {
            points.extend((0..variants).map(|variant| point(Some(v), amps_at(i), variant)));
        }
    } else {
        // Several voltages and several variants: paired in the order of the plate when the counts
        // allow it, but only a person can tell.
        let count = volts.0.len().max(variants);
        points = in_order();
        if !one_flux(&points) {
            doubt.get_or_insert(Unpaired::VoltsAndRatings);
        } else if !amp_list.is_empty() && amp_list.len() != count {
            doubt.get_or_insert(Unpaired::AmpsAndRatings {
                amps: amp_list.len(),
                ratings: count,
            });
        }
    }
    Pairing { points, doubt }
}

/// Whether several frequencies load the iron alike: then voltages and frequencies are paired as they belong
/// (400/460 V with 50/60 Hz), since no motor is made for volts per hertz that differ by more.
fn one_flux(points: &[RatingPoint]) -> bool {
    const TOLERANCE: f64 = 0.1;
    let flux: Option<Vec<f64>> = points
        .iter()
        .map(|p| Some(p.volts?.0 / p.hertz?.0))
        .collect();
    let several = points.windows(2).all(|pair| pair[0].hertz != pair[1].hertz);
    flux.is_some_and(|f| {
        let (low, high) = f
            .iter()
            .fold((f64::MAX, 0.0f64), |(l, h), v| (l.min(*v), h.max(*v)));
        several && high <= low * (1.0 + TOLERANCE)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairing(rows: &[(Field, &str)]) -> Pairing {
        pair(|field| rows.iter().find(|(f, _)| *f == field).map(|(_, p)| *p))
    }

    fn volts_and_amps(pairing: &Pairing) -> Vec<(Option<f64>, Option<f64>)> {
        let points = pairing.points.iter();
        points
            .map(|p| (p.volts.map(|v| v.0), p.amps.map(|a| a.0)))
            .collect()
    }

    /// Two rows of an IEC plate, the first with a voltage for each connection.
    #[test]
    fn rows_with_connections() {
        let pairing = pairing(&[
            (Field::Volts, "400 Δ/690 Y 460 Δ"),
            (Field::Amps, "8.2/4.7 8.1"),
            (Field::Hertz, "50 60"),
            (Field::Kw, "4.0 4.6"),
        ]);
        assert_eq!(pairing.doubt, None);
        assert_eq!(
            volts_and_amps(&pairing),
            [
                (Some(400.0), Some(8.2)),
                (Some(690.0), Some(4.7)),
                (Some(460.0), Some(8.1))
            ]
        );
    }

    /// A row for each voltage, with the letter of its connection.
    #[test]
    fn a_voltage_a_row() {
        let pairing = pairing(&[
            (Field::Volts, "690 Y 400 D 440 D"),
            (Field::Amps, "8.3 14.3 15.0"),
            (Field::Hertz, "50 50 60"),
            (Field::Kw, "7.5 7.5 8.6"),
        ]);
        assert_eq!(pairing.doubt, None);
        assert_eq!(
            volts_and_amps(&pairing),
            [
                (Some(690.0), Some(8.3)),
                (Some(400.0), Some(14.3)),
                (Some(440.0), Some(15.0))
            ]
        );
    }

    /// Found by fuzzing: a fraction beside another power was taken apart.
    #[test]
    fn a_fraction_is_no_two_rows() {
        for hp in ["1/2, 1", "1/2 1", "1/2-1", "1, 1/2", "1-1/2 1"] {
            let pairing = pairing(&[(Field::Volts, "115 230"), (Field::Hp, hp)]);
            let whole = notation::groups(Field::Hp, hp).flat();
            let powers = pairing.points.iter().filter_map(|p| p.hp);
            assert!(powers.into_iter().all(|p| whole.contains(&p.0)), "{hp}");
        }
    }

    /// Common practice: the current of the highest speed; a current for each power where powers differ.
    #[test]
    fn one_current_for_several_speeds() {
        let speeds = [
            (Field::Volts, "115"),
            (Field::Amps, "1.1"),
            (Field::Rpm, "1050/900/750"),
        ];
        assert_eq!(pairing(&speeds).doubt, None);
        let amps: Vec<Option<f64>> = volts_and_amps(&pairing(&speeds))
            .iter()
            .map(|p| p.1)
            .collect();
        assert_eq!(amps, [Some(1.1), None, None]);
        let powers = [&speeds[..], &[(Field::Hp, "1/2/1/3/1/4")]].concat();
        assert!(pairing(&powers).doubt.is_some());
    }

    #[test]
    fn three_voltages_three_currents() {
        let p = pairing(&[
            (Field::Volts, "208-230/460"),
            (Field::Amps, "13.6-12.8/6.4"),
            (Field::Phase, "3"),
        ]);
        assert_eq!(
            volts_and_amps(&p),
            [
                (Some(208.0), Some(13.6)),
                (Some(230.0), Some(12.8)),
                (Some(460.0), Some(6.4))
            ]
        );
        assert_eq!(p.doubt, None);
    }

    #[test]
    fn a_voltage_range_shares_its_current() {
        let p = pairing(&[(Field::Volts, "208-230/460"), (Field::Amps, "6.4/3.2")]);
        assert_eq!(
            volts_and_amps(&p),
            [
                (Some(208.0), Some(6.4)),
                (Some(230.0), Some(6.4)),
                (Some(460.0), Some(3.2))
            ]
        );
        assert_eq!(p.doubt, None);
    }

    #[test]
    fn a_range_printed_with_a_slash_shares_its_current_too() {
        let p = pairing(&[(Field::Volts, "208/230"), (Field::Amps, "2.8")]);
        assert_eq!(
            volts_and_amps(&p),
            [(Some(208.0), Some(2.8)), (Some(230.0), Some(2.8))]
        );
        assert_eq!(p.doubt, None);
        let p = pairing(&[(Field::Volts, "208/230/460"), (Field::Amps, "6.4/3.2")]);
        assert_eq!(p.points[1].amps, Some(Amps(6.4)));
        assert_eq!(p.points[2].amps, Some(Amps(3.2)));
        assert_eq!(p.doubt, None);
    }

    #[test]
    fn several_powers_at_one_voltage() {
        let p = pairing(&[
            (Field::Volts, "115"),
            (Field::Hp, "1/2, 1/3, 1/4"),
            (Field::Amps, "7.4/5.2/3.9"),
        ]);
        assert_eq!(p.points.len(), 3);
        assert_eq!(p.points[2].hp, Some(Horsepower(0.25)));
        assert_eq!(p.points[2].amps, Some(Amps(3.9)));
        assert_eq!(p.points[2].volts, Some(Volts(115.0)));
        assert_eq!(p.doubt, None);
    }

    #[test]
    fn a_table_pairs_row_by_row() {
        let p = pairing(&[
            (Field::Volts, "230/400 460"),
            (Field::Amps, "8.0/4.6 4.6"),
            (Field::Hertz, "50 60"),
            (Field::Kw, "2.2 2.53"),
            (Field::Rpm, "1445 1745"),
            (Field::Phase, "3"),
        ]);
        assert_eq!(p.doubt, None);
        assert_eq!(
            volts_and_amps(&p),
            [
                (Some(230.0), Some(8.0)),
                (Some(400.0), Some(4.6)),
                (Some(460.0), Some(4.6))
            ]
        );
        let last = &p.points[2];
        assert_eq!(
            (last.hertz, last.kw, last.rpm, last.phase),
            (
                Some(Hertz(60.0)),
                Some(Kilowatts(2.53)),
                Some(Rpm(1745.0)),
                Some(3)
            )
        );
        // Powers of a table are parted by strokes.
        let p = pairing(&[
            (Field::Volts, "230/460 190/380"),
            (Field::Amps, "4.2/2.1 5.1/2.5"),
            (Field::Hertz, "60 50"),
            (Field::Hp, "1.5/1.25"),
        ]);
        assert_eq!(p.doubt, None);
        let last = &p.points[3];
        assert_eq!(
            (last.volts, last.amps, last.hp),
            (Some(Volts(380.0)), Some(Amps(2.5)), Some(Horsepower(1.25)))
        );
        // A blank inside a value is no row.
        let p = pairing(&[
            (Field::Volts, "230 V"),
            (Field::Hp, "1 1/2"),
            (Field::Amps, "6.0"),
        ]);
        assert_eq!(p.points.len(), 1);
        assert_eq!(p.points[0].hp, Some(Horsepower(1.5)));
    }

    /// Source: volts per hertz: 400 V at 50 Hz and 480 V at 60 Hz are both 8 V/Hz.
    #[test]
    fn voltages_and_frequencies_pair_where_the_flux_agrees() {
        let rows = |volts, hertz| {
            let p = pairing(&[
                (Field::Volts, volts),
                (Field::Amps, "7.5/6.5"),
                (Field::Hertz, hertz),
                (Field::Rpm, "1450/1750"),
            ]);
            (p.points.len(), p.doubt.is_some())
        };
        assert_eq!(rows("400/460", "50/60"), (2, false));
        assert_eq!(rows("380/440", "50/60"), (2, false));
        assert_eq!(rows("190/380", "50/60"), (2, true));
        assert_eq!(rows("460/400", "50/60"), (2, true));
    }

    /// 208 and 230 V are one supply, with one current (common practice).
    #[test]
    fn neighbouring_voltages_are_one_supply() {
        let p = pairing(&[
            (Field::Volts, "208/230"),
            (Field::Amps, "6.8"),
            (Field::Hertz, "50/60"),
        ]);
        assert_eq!(p.doubt, None);
        assert!(p.points.iter().all(|point| point.amps == Some(Amps(6.8))));
        let p = pairing(&[
            (Field::Volts, "115/208-230"),
            (Field::Amps, "0.45/0.25"),
            (Field::Hertz, "50/60"),
        ]);
        assert_eq!(p.doubt, None);
        let at = |volts| {
            p.points
                .iter()
                .find(|point| point.volts == Some(Volts(volts)))
        };
        assert_eq!(at(208.0).and_then(|point| point.amps), Some(Amps(0.25)));
    }

    /// One power and speed for both frequencies, at each voltage its current (common practice).
    #[test]
    fn two_voltages_serve_two_frequencies() {
        let p = pairing(&[
            (Field::Volts, "115/230"),
            (Field::Amps, "6.2/3.1"),
            (Field::Hertz, "50/60"),
            (Field::Hp, "1/3"),
        ]);
        assert_eq!(p.doubt, None);
        assert_eq!(p.points.len(), 4);
        assert!(
            p.points
                .iter()
                .all(|p| p.amps.map(|a| a.0 * p.volts.map_or(0.0, |v| v.0)) == Some(713.0))
        );
    }

    #[test]
    fn a_range_of_speeds_is_one_rating() {
        let p = pairing(&[
            (Field::Volts, "208-230"),
            (Field::Amps, "2.8"),
            (Field::Hp, "1/3"),
            (Field::Rpm, "300-1200"),
        ]);
        let rpm: Vec<_> = p.points.iter().map(|p| p.rpm).collect();
        assert_eq!(rpm, [Some(Rpm(1200.0)); 2]);
        let speeds = pairing(&[(Field::Volts, "460"), (Field::Rpm, "1725-850")]);
        assert_eq!(speeds.points.len(), 2);
    }

    /// Two columns of a table, in which only what has several figures a column is parted by blanks.
    #[test]
    fn a_figure_a_column_may_be_parted_by_strokes() {
        let p = pairing(&[
            (Field::Volts, "230/460 190/380"),
            (Field::Amps, "58.8/29.4 57.8/28.9"),
            (Field::Hertz, "60/50"),
            (Field::Hp, "25/20"),
            (Field::Rpm, "1770 1470"),
        ]);
        assert_eq!(p.doubt, None);
        let last = p.points.last().unwrap();
        let figures = (last.volts, last.amps, last.hertz, last.hp);
        let expected = (Volts(380.0), Amps(28.9), Hertz(50.0), Horsepower(20.0));
        assert_eq!(
            figures,
            (
                Some(expected.0),
                Some(expected.1),
                Some(expected.2),
                Some(expected.3)
            )
        );
    }

    /// Two speeds of a variable torque motor, of which one power is a mixed number.
    #[test]
    fn a_fraction_keeps_its_stroke_among_the_figures_of_a_table() {
        assert_eq!(by_strokes(Field::Hp, "7 1/2/1.9"), ["7 1/2", "1.9"]);
        assert_eq!(by_strokes(Field::Hp, "1/2"), ["1/2"]);
        let p = pairing(&[
            (Field::Volts, "460 460"),
            (Field::Amps, "10.4 3.7"),
            (Field::Hp, "7 1/2/1.9"),
            (Field::Rpm, "1745 865"),
        ]);
        assert_eq!(p.doubt, None);
        let low = p.points.last().unwrap();
        let expected = (Some(Amps(3.7)), Some(Horsepower(1.9)), Some(Rpm(865.0)));
        assert_eq!((low.amps, low.hp, low.rpm), expected);
    }

    #[test]
    fn counts_that_do_not_pair_up_are_doubtful() {
        let p = pairing(&[(Field::Volts, "115/230"), (Field::Amps, "7.4")]);
        assert_eq!(
            volts_and_amps(&p),
            [(Some(115.0), None), (Some(230.0), None)]
        );
        assert!(p.doubt.is_some());
    }

    #[test]
    fn amps_alone_are_no_contradiction() {
        let p = pairing(&[(Field::Amps, "2.0")]);
        assert_eq!(volts_and_amps(&p), [(None, Some(2.0))]);
        assert_eq!(p.doubt, None);
    }

    #[test]
    fn a_table_with_a_lost_figure_is_doubtful() {
        for volts in ["460/380", "460 380", "230/460 380", "230/460 190/380"] {
            let p = pairing(&[
                (Field::Volts, volts),
                (Field::Amps, "3.0/1.5 3.7"),
                (Field::Hertz, "60 50"),
                (Field::Rpm, "1750 1435"),
                (Field::Phase, "3"),
            ]);
            assert_eq!(p.doubt.is_some(), volts != "230/460 380", "{volts}");
        }
    }

    #[test]
    fn an_empty_plate_has_no_points() {
        assert_eq!(pairing(&[]).points, []);
    }
}
