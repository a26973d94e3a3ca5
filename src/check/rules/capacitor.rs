//! Capacitors: the steps and voltages that are made, and what a motor of that power takes.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, listed, nearest};
use crate::record::Field;
use crate::trade;
use crate::units::plain;

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "capacitor-step",
        source: "steps of run capacitors and ranges of start capacitors (EIA-456; trade pages and common practice)",
        needs: &[Field::CapacitorUf],
        uses: &[],
        judge: step,
    },
    Rule {
        name: "capacitor-volts",
        source: "voltages of run and start capacitors (trade pages and common practice)",
        needs: &[Field::CapacitorVolts],
        uses: &[],
        judge: volts,
    },
    Rule {
        name: "capacitor-power",
        source: "common practice: about 5 to 30 microfarads per horsepower for a run capacitor",
        needs: &[Field::CapacitorUf],
        uses: &[Field::Hp, Field::Kw],
        judge: power,
    },
];

/// The run capacitance, when the value is one number.
fn run_capacitance(motor: &Motor) -> Option<f64> {
    match motor.numbers(Field::CapacitorUf) {
        [one] => Some(*one),
        _ => None,
    }
}

fn step(motor: &Motor) -> Option<Finding> {
    if let [low, high] = motor.numbers(Field::CapacitorUf) {
        let made = trade::start_capacitor_ranges().contains(&(*low, *high));
        let spread = (1.1..1.35).contains(&(high / low));
        let both_run = [low, high]
            .iter()
            .all(|v| trade::run_capacitor_steps().contains(v));
        let factor = if made || both_run {
            1.0
        } else if spread {
            0.5
        } else {
            0.1
        };
        return Some(Finding::new(
            factor,
            format!("{} to {} microfarads", plain(*low), plain(*high)),
        ));
    }
    let uf = run_capacitance(motor)?;
    let steps = trade::run_capacitor_steps();
    if steps.iter().any(|s| (s - uf).abs() < 1e-6) {
        return Some(Finding::new(
            1.0,
            format!("{} microfarads is a usual step", plain(uf)),
        ));
    }
    // Between the steps are rarer ones (3.5, 12, 16 on imported motors).
    let whole = (uf * 2.0).fract() == 0.0;
    let factor = match uf {
        u if (1.5..=20.0).contains(&u) && whole => 0.4,
        u if (80.0..=100.0).contains(&u) => 0.3,
        _ => 0.1,
    };
    Some(Finding::new(
        factor,
        format!(
            "{} microfarads is no usual step; near it are {}",
            plain(uf),
            listed(&nearest(steps, uf))
        ),
    ))
}

fn volts(motor: &Motor) -> Option<Finding> {
    let known = |v: &f64| {
        trade::run_capacitor_volts().contains(v) || trade::start_capacitor_volts().contains(v)
    };
    let volts = motor.numbers(Field::CapacitorVolts);
    Some(match volts.iter().find(|v| !known(v)) {
        None => Finding::new(
            1.0,
            format!("{} V is a usual capacitor voltage", listed(volts)),
        ),
        Some(odd) => Finding::new(
            0.05,
            format!(
                "{} V is no usual capacitor voltage; 370 and 440 V are",
                plain(*odd)
            ),
        ),
    })
}

fn power(motor: &Motor) -> Option<Finding> {
    let uf = run_capacitance(motor)?;
    let hp = motor.power()?.0;
    let (low, high) = (3.5 * hp, 60.0 * hp.max(0.45));
    let factor = if uf > 80.0 {
        // A start capacitor: not for this rule.
        return None;
    } else if (low..=high).contains(&uf) {
        1.0
    } else {
        0.12
    };
    Some(Finding::new(
        factor,
        format!(
            "{} microfarads for {} hp; usual is {} to {}",
            plain(uf),
            plain(hp),
            plain((low * 10.0).round() / 10.0),
            high.round()
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::super::testing::check;
    use super::*;

    /// Source: `capacitors.csv`: every step, range and voltage passes.
    #[test]
    fn made_values_pass() {
        for uf in trade::run_capacitor_steps() {
            check(
                RULES,
                "capacitor-step",
                &[('+', &format!("capacitor_uf={uf}"))],
            );
        }
        for (low, high) in trade::start_capacitor_ranges() {
            check(
                RULES,
                "capacitor-step",
                &[('+', &format!("capacitor_uf={low}-{high}"))],
            );
        }
        for v in trade::run_capacitor_volts()
            .iter()
            .chain(trade::start_capacitor_volts())
        {
            check(
                RULES,
                "capacitor-volts",
                &[('+', &format!("capacitor_volts={v}"))],
            );
        }
    }

    #[test]
    fn others_do_not() {
        check(
            RULES,
            "capacitor-step",
            &[
                ('-', "capacitor_uf=75"),
                ('-', "capacitor_uf=1"),
                ('-', "capacitor_uf=1.25"),
                ('-', "capacitor_uf=0.75"),
                ('+', "capacitor_uf=12"),
            ],
        );
        check(
            RULES,
            "capacitor-volts",
            &[
                ('-', "capacitor_volts=870"),
                ('-', "capacitor_volts=37"),
                ('-', "capacitor_volts=444"),
            ],
        );
        check(
            RULES,
            "capacitor-power",
            &[
                ('+', "capacitor_uf=5 hp=1/8"),
                ('+', "capacitor_uf=7.5 hp=1/3"),
                ('+', "capacitor_uf=15 hp=1"),
                ('+', "capacitor_uf=25 hp=1"),
                ('+', "capacitor_uf=60 hp=5"),
                ('+', "capacitor_uf=5 hp=1/4"),
                ('-', "capacitor_uf=2 hp=1"),
                ('-', "capacitor_uf=50 hp=1/4"),
                ('-', "capacitor_uf=75 hp=1/6"),
            ],
        );
    }
}
