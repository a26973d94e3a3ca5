//! Rating points: which volts, amps, power and speed on a plate belong together.

use super::notation::{self, Groups};
use super::{Field, Value};
use crate::units::{Amps, Hertz, Horsepower, Kilowatts, Rpm, Volts};
use serde::{Deserialize, Serialize};

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

/// Rating points, and whether the plate's rows pair up.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairing {
    /// The points, in the order of the plate.
    pub points: Vec<RatingPoint>,
    /// Why the pairing is doubtful; `None` when the counts agree.
    pub doubt: Option<String>,
}

/// Pairs the printed rows of a plate into rating points. `printed` gives the characters of a field.
///
/// Volts pair with amps one to one (`208-230/460` with `13.6-12.8/6.4`) or group by group (`208-230/460`
/// with `6.4/3.2`); several powers, speeds or frequencies at one voltage pair with as many amps.
pub fn pair<'a>(printed: impl Fn(Field) -> Option<&'a str>) -> Pairing {
    let groups =
        |field| printed(field).map_or_else(Groups::default, |p| notation::groups(field, p));
    let flat = |field| groups(field).flat();
    let volts = groups(Field::Volts);
    let amps = groups(Field::Amps);
    let (hp, kw, rpm, hertz) = (
        flat(Field::Hp),
        flat(Field::Kw),
        flat(Field::Rpm),
        flat(Field::Hertz),
    );
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
    let mut doubt = uneven.then(|| "the powers, speeds and frequencies do not pair up".to_owned());
    let mut points = Vec::new();
    if variants == 1 {
        let group_of = volts.group_indices();
        let by_group = amps.0.len() == volts.0.len() && amps.0.iter().all(|g| g.len() == 1);
        let one_to_one = amp_list.len() == volt_list.len();
        for (i, &v) in volt_list.iter().enumerate() {
            let a = if one_to_one {
                amp_list.get(i)
            } else if by_group {
                amp_list.get(group_of[i])
            } else {
                None
            };
            points.push(point(Some(v), a.copied(), 0));
        }
        if volt_list.is_empty() && !(amp_list.is_empty() && rows.iter().all(|r| r.is_empty())) {
            let lone = (amp_list.len() == 1).then(|| amp_list[0]);
            points.push(point(None, lone, 0));
        }
        if !amp_list.is_empty() && !one_to_one && !by_group {
            doubt.get_or_insert(format!(
                "{} amps stand against {} volts",
                amp_list.len(),
                volt_list.len()
            ));
        }
    } else if volts.0.len() <= 1 {
        let serves: Vec<Option<f64>> = match volt_list.as_slice() {
            [] => vec![None],
            several => several.iter().copied().map(Some).collect(),
        };
        for variant in 0..variants {
            for &v in &serves {
                let a = (amp_list.len() == variants).then(|| amp_list[variant]);
                points.push(point(v, a, variant));
            }
        }
        if !amp_list.is_empty() && amp_list.len() != variants {
            doubt.get_or_insert(format!(
                "{} amps stand against {variants} ratings",
                amp_list.len()
            ));
        }
    } else {
        // Several voltages and several variants: paired in the order of the plate when the counts
        // allow it, but only a person can tell.
        let count = volts.0.len().max(variants);
        for i in 0..count {
            for &v in volts.0.get(i.min(volts.0.len() - 1)).into_iter().flatten() {
                let a = (amp_list.len() == count).then(|| amp_list[i]);
                points.push(point(Some(v), a, i.min(variants - 1)));
            }
        }
        doubt.get_or_insert("several voltages stand beside several ratings".to_owned());
    }
    Pairing { points, doubt }
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
    fn counts_that_do_not_pair_up_are_doubtful() {
        let p = pairing(&[(Field::Volts, "115/230"), (Field::Amps, "7.4")]);
        assert_eq!(
            volts_and_amps(&p),
            [(Some(115.0), None), (Some(230.0), None)]
        );
        assert!(p.doubt.is_some());
    }

    #[test]
    fn an_empty_plate_has_no_points() {
        assert_eq!(pairing(&[]).points, []);
    }
}
