//! Efficiency and power factor: ranges, the standard's series, and what volts, amps and power imply.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, within};
use crate::record::Field;
use crate::trade::{self, formulas};
use crate::units::plain;

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "efficiency-series",
        source: "NEMA MG 1 Table 12-10 (nominal efficiencies)",
        needs: &[Field::NominalEfficiency],
        uses: &[Field::Kw, Field::Hertz, Field::Hp],
        judge: series,
    },
    Rule {
        name: "efficiency-power",
        source: "NEMA MG 1 Tables 12-11 and 12-12, 10 CFR 431.446 (small motors); lower bounds common practice",
        needs: &[Field::NominalEfficiency],
        uses: &[Field::Hp, Field::Kw, Field::Phase],
        judge: against_power,
    },
    Rule {
        name: "power-factor-range",
        source: "common practice: 0.4 to 0.96 at full load, up to 1 with a run capacitor",
        needs: &[Field::PowerFactor],
        uses: &[],
        judge: power_factor_range,
    },
    Rule {
        name: "efficiency-power-factor-amps",
        source: "input and output of a motor: efficiency x power factor = 746 hp / (V I), with sqrt(3) for three phases",
        needs: &[Field::Amps, Field::Volts, Field::Phase],
        uses: &[
            Field::NominalEfficiency,
            Field::PowerFactor,
            Field::Hp,
            Field::Kw,
        ],
        judge: against_amps,
    },
];

fn series(motor: &Motor) -> Option<Finding> {
    let percent = motor.number(Field::NominalEfficiency)?;
    let value = plain(percent);
    if !(5.0..99.2).contains(&percent) {
        return Some(Finding::new(
            0.005,
            format!("{value} % is no possible efficiency"),
        ));
    }
    if trade::efficiency_band(percent).is_some() {
        return Some(Finding::new(
            1.0,
            format!("{value} % is a nominal efficiency of the standard"),
        ));
    }
    // Only NEMA motors keep to the series.
    let nema = motor.candidate(Field::Kw).is_none()
        && motor.numbers(Field::Hertz) != [50.0]
        && motor.power().is_some_and(|p| p.0 >= 0.99);
    let factor = if nema { 0.3 } else { 0.6 };
    Some(Finding::new(
        factor,
        format!("{value} % is between the standard's nominal efficiencies"),
    ))
}

fn against_power(motor: &Motor) -> Option<Finding> {
    let percent = motor.number(Field::NominalEfficiency)?;
    let hp = motor.power()?;
    let (low, high) = match (motor.phase(), hp.0) {
        (Some(1), h) if h < 0.3 => (8.0, 80.0),
        (Some(1), h) if h < 1.0 => (35.0, 88.0),
        (Some(1), _) => (50.0, 92.0),
        (_, h) if h < 0.3 => (25.0, 82.0),
        (_, h) if h < 0.99 => (50.0, 88.0),
        _ => match trade::nominal_efficiency_range(hp, None) {
            // Older motors lie below the tables, the best a little above.
            Some((low, high)) => (low - 8.0, high + 2.5),
            None => (65.0, 97.5),
        },
    };
    let factor = if (low..=high).contains(&percent) {
        1.0
    } else {
        within(percent / 100.0, low / 100.0, high / 100.0).powi(4)
    };
    Some(Finding::new(
        factor,
        format!(
            "{} % efficiency for {} hp; usual is {low:.0} to {high:.0} %",
            plain(percent),
            plain(hp.0)
        ),
    ))
}

fn power_factor_range(motor: &Motor) -> Option<Finding> {
    let mut worst = Finding::new(1.0, "the power factor is a usual one");
    for &pf in motor.numbers(Field::PowerFactor) {
        let factor = match pf {
            p if (0.4..=1.0).contains(&p) => 1.0,
            p if (0.3..0.4).contains(&p) => 0.3,
            _ => 0.01,
        };
        worst = worst.worse(Finding::new(
            factor,
            format!("power factor {}; usual is 0.4 to 1", plain(pf)),
        ));
    }
    Some(worst)
}

fn against_amps(motor: &Motor) -> Option<Finding> {
    let efficiency = motor.number(Field::NominalEfficiency).map(|e| e / 100.0);
    let power_factor = motor.number(Field::PowerFactor);
    let phase = motor.phase()?;
    // With a row for each frequency only a person knows which figures belong together.
    if motor.numbers(Field::Hertz).len() > 1 || motor.numbers(Field::PowerFactor).len() > 1 {
        return None;
    }
    let points = motor.full_power_points();
    let point = points
        .iter()
        .rev()
        .find(|p| p.volts.is_some() && p.amps.is_some() && p.power().is_some())?;
    let (volts, amps, power) = (point.volts?, point.amps?, point.power()?);
    let implied = formulas::efficiency_times_power_factor(phase, volts, amps, power);
    if implied.is_nan() || implied <= 0.0 {
        return None;
    }
    let base = format!(
        "{amps} at {volts} for {} hp needs efficiency x power factor {implied:.2}",
        plain(power.0)
    );
    // Two printed digits of small currents round by up to 4 %, and the standard's nominal value by 2 %.
    match (efficiency, power_factor) {
        (Some(eff), Some(pf)) => {
            let factor = within(implied / (eff * pf), 0.9, 1.11);
            Some(Finding::new(
                factor,
                format!(
                    "{base}; the plate says {:.2} x {pf:.2} = {:.2}",
                    eff,
                    eff * pf
                ),
            ))
        }
        (Some(eff), None) => {
            let pf = implied / eff;
            let factor = within(pf, 0.42, 0.97);
            Some(Finding::new(
                factor,
                format!(
                    "{base}; with {:.1} % efficiency that is power factor {pf:.2}, usual is 0.42 to 0.97",
                    eff * 100.0
                ),
            ))
        }
        (None, Some(pf)) => {
            let eff = implied / pf;
            let low = if power.0 < 0.3 {
                0.1
            } else if power.0 < 0.99 {
                0.4
            } else {
                0.64
            };
            let factor = within(eff, low, 0.97);
            Some(Finding::new(
                factor,
                format!(
                    "{base}; with power factor {pf:.2} that is efficiency {eff:.2}, usual is {low:.2} to 0.97"
                ),
            ))
        }
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    /// Source: NEMA MG 1 Tables 12-11 and 12-12 and 10 CFR 431.446: every cell passes both rules.
    #[test]
    fn table_efficiencies_pass() {
        for cell in trade::nominal_efficiencies() {
            let plate = format!(
                "phase=3 hp={} nominal_efficiency={}",
                cell.hp.0, cell.nominal
            );
            check(RULES, "efficiency-series", &[('+', &plate)]);
            check(RULES, "efficiency-power", &[('+', &plate)]);
        }
        for row in trade::small_motor_efficiencies() {
            let plate = format!("phase=3 hp={} nominal_efficiency={}", row.hp.0, row.average);
            check(RULES, "efficiency-power", &[('+', &plate)]);
        }
    }

    /// Source of the passing IEC rows: common practice, from memory.
    #[test]
    fn efficiencies() {
        check(
            RULES,
            "efficiency-series",
            &[
                ('-', "nominal_efficiency=99.5 hp=5"),
                ('-', "nominal_efficiency=895 hp=5"),
                ('-', "nominal_efficiency=0.895 hp=5"),
                ('+', "nominal_efficiency=85.3 kw=1.5"),
            ],
        );
        check(
            RULES,
            "efficiency-power",
            &[
                ('+', "nominal_efficiency=57 kw=0.12 phase=3"),
                ('+', "nominal_efficiency=85.3 kw=1.5 phase=3"),
                ('+', "nominal_efficiency=72 hp=1 phase=1"),
                ('-', "nominal_efficiency=44.5 hp=5 phase=3"),
                ('-', "nominal_efficiency=37.5 kw=0.75 phase=3"),
                ('-', "nominal_efficiency=12 kw=0.12 phase=3"),
                ('-', "nominal_efficiency=49.1 hp=40 phase=3"),
            ],
        );
        check(
            RULES,
            "power-factor-range",
            &[
                ('+', "power_factor=0.86"),
                ('+', "power_factor=74.4"),
                ('+', "power_factor=1.0"),
                ('-', "power_factor=1.86"),
                ('-', "power_factor=0.18"),
            ],
        );
    }

    /// Source: AMO-Tools-Suite comment: 225.8 A at 95.63 % and power factor 0.867 for 200 hp at 460 V.
    #[test]
    fn efficiency_and_power_factor_fit_the_amps() {
        check(
            RULES,
            "efficiency-power-factor-amps",
            &[
                (
                    '+',
                    "phase=3 volts=460 hp=200 amps=225.8 nominal_efficiency=95.6 power_factor=0.867",
                ),
                (
                    '+',
                    "phase=3 volts=230/400 kw=0.75 amps=3.0/1.7 power_factor=0.76",
                ),
                (
                    '+',
                    "phase=3 volts=400/690 kw=11 amps=20.4/11.8 power_factor=0.85 nominal_efficiency=91.4",
                ),
                (
                    '+',
                    "phase=3 volts=230/460 hp=1 amps=3.1/1.6 nominal_efficiency=82.5 power_factor=74.4",
                ),
                (
                    '+',
                    "phase=3 volts=208-230/460 hp=15 amps=41.4-37.6/18.8 nominal_efficiency=91.7 power_factor=0.82",
                ),
                (
                    '-',
                    "phase=3 volts=460 hp=200 amps=225.8 nominal_efficiency=95.6 power_factor=0.567",
                ),
                (
                    '-',
                    "phase=3 volts=400 kw=11 amps=20.4 power_factor=0.85 nominal_efficiency=61.4",
                ),
                ('-', "phase=3 volts=460 hp=15 amps=18.8 power_factor=0.62"),
            ],
        );
        assert!(finding(&RULES[3], "phase=3 volts=460 hp=15 amps=18.8").is_none());
    }
}
