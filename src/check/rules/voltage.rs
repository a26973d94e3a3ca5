//! Voltage, frequency and phase: the series that systems use, and what goes together.

use super::super::motor::Motor;
use super::super::rule::{CONTENT, Finding, Rule, listed, nearest};
use crate::record::Field;
use crate::trade;
use crate::units::{Hertz, Rpm, plain};

const SERIES_SOURCE: &str = "NEMA MG 1 and ANSI C84.1 nameplate voltages, notes to NEC Tables 430.248 and 430.250, IEC 60038";

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "voltage-series",
        source: SERIES_SOURCE,
        needs: &[Field::Volts],
        uses: &[],
        judge: voltage_series,
    },
    Rule {
        name: "voltage-steps",
        source: SERIES_SOURCE,
        needs: &[Field::Volts],
        uses: &[Field::Hertz],
        judge: voltage_steps,
    },
    Rule {
        name: "frequency",
        source: "50 and 60 Hz are the frequencies of public supply (IEC 60038); synchronous speed = 120 f / poles, of motors behind a drive",
        needs: &[Field::Hertz],
        uses: &[Field::Rpm],
        judge: frequency,
    },
    Rule {
        name: "voltage-frequency",
        source: "ANSI C84.1 (60 Hz) and IEC 60038 (50 Hz) voltages; common practice",
        needs: &[Field::Volts, Field::Hertz],
        uses: &[],
        judge: voltage_frequency,
    },
    Rule {
        name: "phase-supply",
        source: "NEC Tables 430.248 and 430.250 (which powers and voltages exist for which phase); common practice",
        needs: &[Field::Phase],
        uses: &[Field::Volts, Field::Hp, Field::Kw, Field::CapacitorUf],
        judge: phase_supply,
    },
];

/// Voltages that the trade's table does not list and plates print all the same (common practice).
const ALSO_PRINTED: &[f64] = &[
    100.0, 127.0, 190.0, 346.0, 420.0, 500.0, 525.0, 660.0, 690.0,
];

fn voltage_series(motor: &Motor) -> Option<Finding> {
    let known = |v: &f64| trade::voltage_series().contains(v) || ALSO_PRINTED.contains(v);
    let volts = motor.numbers(Field::Volts);
    Some(match volts.iter().find(|v| !known(v)) {
        None => Finding::new(
            1.0,
            format!("{} V belong to the usual voltages", listed(volts)),
        ),
        Some(&odd) => {
            let message = format!(
                "{} V is no usual voltage; near it are {} V",
                plain(odd),
                listed(&nearest(trade::voltage_series(), odd))
            );
            Finding::new(0.02, message)
        }
    })
}

fn voltage_steps(motor: &Motor) -> Option<Finding> {
    let mut volts = motor.numbers(Field::Volts).to_vec();
    if volts.len() < 2 || motor.numbers(Field::Hertz).len() > 1 {
        // One voltage has no step; with two frequencies each has voltages of its own.
        return None;
    }
    volts.sort_by(f64::total_cmp);
    // One range (208-230), delta and star (230/400), series and parallel (115/230).
    let fits = |w: &&[f64]| {
        let ratio = w[1] / w[0];
        !(ratio <= 1.3 || (1.55..=2.3).contains(&ratio))
    };
    Some(match volts.windows(2).find(fits) {
        // Plates name the voltages of systems (120, 240, 480) or those of motors made for them (115, 230, 460).
        None if has(&volts, &[115.0, 230.0, 460.0, 575.0])
            && has(&volts, &[120.0, 480.0, 600.0]) =>
        {
            Finding::new(
                CONTENT,
                format!(
                    "{} V are voltages of systems and of motors beside each other",
                    listed(&volts)
                ),
            )
        }
        None => Finding::new(1.0, format!("{} V are usual together", listed(&volts))),
        Some(w) => Finding::new(
            0.1,
            format!(
                "{} and {} V are not usual on one plate: voltages of one winding stand 1 : 2 or 1 : 1.73",
                plain(w[0]),
                plain(w[1])
            ),
        ),
    })
}

fn has(volts: &[f64], of: &[f64]) -> bool {
    volts.iter().any(|v| of.contains(v))
}

fn frequency(motor: &Motor) -> Option<Finding> {
    let hertz = motor.numbers(Field::Hertz);
    // The frequency of a drive: a permanent-magnet motor turns without slip.
    let synchronous = |hertz: f64| {
        motor.numbers(Field::Rpm).iter().any(|&rpm| {
            let (rpm, hertz) = (Rpm(rpm), Hertz(hertz));
            let without_slip =
                |poles| trade::slip(rpm, trade::synchronous_speed(hertz, poles)) < 1e-3;
            trade::poles(rpm, hertz).is_some_and(|poles| poles >= 4 && without_slip(poles))
        })
    };
    let usual = |hertz: f64| [50.0, 60.0].contains(&hertz) || synchronous(hertz);
    Some(match hertz.iter().find(|h| !usual(**h)) {
        None => Finding::new(1.0, format!("{} Hz is usual", listed(hertz))),
        Some(odd) => Finding::new(
            0.005,
            format!("{} Hz is no usual frequency; 50 and 60 Hz are", plain(*odd)),
        ),
    })
}

fn voltage_frequency(motor: &Motor) -> Option<Finding> {
    let (volts, hertz) = (motor.numbers(Field::Volts), motor.numbers(Field::Hertz));
    let [hertz] = hertz else { return None };
    let foreign: &[f64] = match *hertz as u32 {
        50 => &[115.0, 208.0, 265.0, 277.0, 460.0, 575.0],
        _ => return None,
    };
    Some(match volts.iter().find(|v| foreign.contains(v)) {
        None => Finding::new(
            1.0,
            format!("{} V and {} Hz go together", listed(volts), plain(*hertz)),
        ),
        Some(v) => Finding::new(
            0.15,
            format!(
                "{} V is a voltage of 60 Hz systems, the plate says {} Hz",
                plain(*v),
                plain(*hertz)
            ),
        ),
    })
}

fn phase_supply(motor: &Motor) -> Option<Finding> {
    let phase = motor.phase()?;
    let volts = motor.numbers(Field::Volts);
    let (lowest, highest) = (
        volts.iter().copied().reduce(f64::min),
        volts.iter().copied().reduce(f64::max),
    );
    let hp = motor.power().map(|p| p.0);
    let doubt = |factor, message: String| Some(Finding::new(factor, message));
    if phase == 3 {
        if !motor.numbers(Field::CapacitorUf).is_empty() || motor.marks.single_phase_type {
            return doubt(
                0.02,
                "a capacitor or a single-phase type stands beside three phases".to_owned(),
            );
        }
        if let Some(v) = highest.filter(|v| *v < 190.0) {
            return doubt(
                0.03,
                format!("{} V is not usual with three phases", plain(v)),
            );
        }
        // `265/460`: both ways to connect a motor for 230/400 V, at 60 Hz.
        let star = |v: f64| {
            volts
                .iter()
                .any(|w| (w / v / 3f64.sqrt() - 1.0).abs() < 0.01)
        };
        let phase = |v: &&f64| [265.0, 277.0].contains(*v) && !star(**v);
        if let Some(v) = volts.iter().find(phase) {
            return doubt(
                0.1,
                format!(
                    "{} V is the single-phase voltage of a 480 V system, the plate says three phases",
                    plain(*v)
                ),
            );
        }
        if let (Some(low), Some(high)) = (lowest, highest)
            && low < 150.0
            && high < 250.0
        {
            return doubt(
                0.08,
                format!(
                    "{} V is a single-phase pair, the plate says three phases",
                    listed(volts)
                ),
            );
        }
        if let Some(hp) = hp.filter(|hp| *hp < 0.04) {
            return doubt(
                0.15,
                format!("{} hp is not usual with three phases", plain(hp)),
            );
        }
    } else {
        if let Some(v) = highest.filter(|v| *v > 500.0) {
            return doubt(
                0.05,
                format!("{} V is not usual with a single phase", plain(v)),
            );
        }
        if let (Some(v), Some(hp)) = (highest.filter(|v| *v > 300.0), hp.filter(|hp| *hp > 1.6)) {
            return doubt(
                0.1,
                format!(
                    "{} hp at {} V is not usual with a single phase",
                    plain(hp),
                    plain(v)
                ),
            );
        }
        if let Some(hp) = hp.filter(|hp| *hp > 10.1) {
            return doubt(
                0.05,
                format!(
                    "{} hp is not usual with a single phase; 10 hp is the most of NEC Table 430.248",
                    plain(hp)
                ),
            );
        }
        if volts.contains(&230.0) && volts.contains(&460.0) {
            let factor = if hp.is_some_and(|hp| hp < 1.6) {
                0.5
            } else {
                0.1
            };
            return doubt(factor, "230/460 V is a three-phase pair".to_owned());
        }
    }
    Some(Finding::new(
        1.0,
        format!("{phase}-phase supply fits the other values"),
    ))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    /// Source: `voltage_pairs.csv`, spellings seen on plates; every one must pass.
    #[test]
    fn usual_voltages_pass() {
        let mut rows = vec![
            ('-', "volts=203".to_owned()),
            ('-', "volts=203/460".to_owned()),
            ('-', "volts=151".to_owned()),
            ('-', "volts=640".to_owned()),
            ('-', "volts=757".to_owned()),
            ('-', "volts=260".to_owned()),
            ('-', "volts=727".to_owned()),
            ('-', "volts=23".to_owned()),
            ('-', "volts=2300000".to_owned()),
        ];
        for system in trade::supply_systems() {
            for seen in &system.seen_on_plates {
                rows.push(('+', format!("volts={seen}")));
            }
        }
        let rows: Vec<(char, &str)> = rows.iter().map(|(s, p)| (*s, p.as_str())).collect();
        check(RULES, "voltage-series", &rows);
        let steps: Vec<(char, &str)> = rows.iter().filter(|r| r.0 == '+').copied().collect();
        check(RULES, "voltage-steps", &steps);
        check(
            RULES,
            "voltage-steps",
            &[
                ('-', "volts=115/460"),
                ('-', "volts=230/575"),
                ('+', "volts=190/380_230/460"),
            ],
        );
    }

    #[test]
    fn frequencies() {
        check(
            RULES,
            "frequency",
            &[
                ('+', "hertz=60"),
                ('+', "hertz=50/60"),
                ('-', "hertz=80"),
                ('-', "hertz=6"),
            ],
        );
        check(
            RULES,
            "voltage-frequency",
            &[
                ('+', "volts=230/460 hertz=60"),
                ('+', "volts=380-415 hertz=50"),
                ('+', "volts=400/690 hertz=50"),
                ('+', "volts=220-240 hertz=50"),
                ('+', "volts=380 hertz=60"),
                ('+', "volts=460 hertz=50/60"),
                ('-', "volts=208-230/460 hertz=50"),
                ('-', "volts=115 hertz=50"),
            ],
        );
    }

    /// Source: rows that pass lie in NEC Tables 430.248 and 430.250 or in `typical_fan_motor_amps.csv`.
    #[test]
    fn phases_and_supplies() {
        check(
            RULES,
            "phase-supply",
            &[
                ('+', "phase=1 volts=115 hp=1/2"),
                ('+', "phase=1 volts=115/230 hp=10"),
                ('+', "phase=1 volts=460 hp=1 capacitor_uf=10"),
                ('+', "phase=1 volts=277 hp=3/4"),
                ('+', "phase=3 volts=208-230/460 hp=1/2"),
                ('+', "phase=3 volts=575 hp=150"),
                ('+', "phase=3 volts=230/400 kw=0.12"),
                ('+', "phase=3 volts=265/460 kw=0.12"),
                ('+', "phase=3"),
                ('-', "phase=3 volts=115 hp=1/4"),
                ('-', "phase=3 volts=115/230 hp=1/2"),
                ('-', "phase=3 volts=208-230 hp=1/2 capacitor_uf=7.5"),
                ('-', "phase=3 volts=230 PSC"),
                ('-', "phase=3 volts=277 hp=1/2"),
                ('-', "phase=1 volts=575 hp=1"),
                ('-', "phase=1 volts=230 hp=50"),
                ('-', "phase=1 volts=460 hp=5"),
                ('-', "phase=1 volts=230/460 hp=5"),
            ],
        );
        let (_, message) = finding(&RULES[0], "volts=203").expect("a finding");
        assert_eq!(
            message,
            "203 V is no usual voltage; near it are 200 and 208 V"
        );
    }
}
