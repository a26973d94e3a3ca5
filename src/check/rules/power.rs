//! Power: the series in which motors are made, and horsepower against kilowatts.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, within};
use crate::record::Field;
use crate::units::{Horsepower, Kilowatts, plain};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "power-series",
        source: "NEMA MG 1 10.32 horsepower ratings and common practice for fan motors",
        needs: &[Field::Hp],
        uses: &[],
        chance: 0.4,
        judge: horsepower_series,
    },
    Rule {
        name: "kilowatt-series",
        source: "IEC 60072-1 preferred outputs, horsepower ratings in kW; common practice for fan motors",
        needs: &[Field::Kw],
        uses: &[],
        chance: 0.5,
        judge: kilowatt_series,
    },
    Rule {
        name: "horsepower-kilowatts",
        source: "1 hp = 745.7 W",
        needs: &[Field::Hp, Field::Kw],
        uses: &[],
        chance: 0.1,
        judge: horsepower_kilowatts,
    },
];

/// Ratings in hp. Thirds and sixths are compared loosely, since plates round them (.33, .17).
const HORSEPOWER: &[f64] = &[
    0.01,
    0.0125,
    1.0 / 70.0,
    1.0 / 60.0,
    0.02,
    0.025,
    1.0 / 35.0,
    1.0 / 30.0,
    0.04,
    0.05,
    1.0 / 15.0,
    0.075,
    1.0 / 12.0,
    0.1,
    0.125,
    1.0 / 7.0,
    0.15,
    1.0 / 6.0,
    0.2,
    0.25,
    0.3,
    1.0 / 3.0,
    0.4,
    0.5,
    0.6,
    0.75,
    0.8,
    1.0,
    1.25,
    1.5,
    1.75,
    2.0,
    2.5,
    3.0,
    4.0,
    5.0,
    5.5,
    6.0,
    7.5,
    10.0,
    12.5,
    15.0,
    20.0,
    25.0,
    30.0,
    40.0,
    50.0,
    60.0,
    75.0,
    100.0,
    125.0,
    150.0,
    200.0,
    250.0,
    300.0,
    350.0,
    400.0,
    450.0,
    500.0,
];

/// Ratings in kW: IEC 60072-1 preferred outputs.
const KILOWATTS: &[f64] = &[
    0.06, 0.09, 0.12, 0.18, 0.25, 0.37, 0.55, 0.75, 1.1, 1.5, 1.8, 2.2, 3.0, 3.7, 4.0, 5.5, 6.3,
    7.5, 9.2, 10.0, 11.0, 13.0, 15.0, 17.0, 18.5, 20.0, 22.0, 25.0, 30.0, 37.0, 40.0, 45.0, 55.0,
    63.0, 75.0, 80.0, 90.0, 100.0, 110.0, 132.0, 160.0, 200.0, 250.0, 315.0, 355.0, 375.0,
];

/// Whether a value is in the series, within the rounding of a plate.
fn listed_in(series: &[f64], value: f64) -> bool {
    series.iter().any(|s| (value / s - 1.0).abs() < 0.035)
}

fn horsepower_series(motor: &Motor) -> Option<Finding> {
    let mut worst = Finding::new(1.0, "the power is a usual rating");
    for &hp in motor.numbers(Field::Hp) {
        worst = worst.worse(if listed_in(HORSEPOWER, hp) {
            Finding::new(1.0, format!("{} hp is a usual rating", plain(hp)))
        } else if (0.002..=1000.0).contains(&hp) {
            Finding::new(0.3, format!("{} hp is no usual rating", plain(hp)))
        } else {
            Finding::new(
                0.005,
                format!(
                    "{} hp is outside what motors of plates like this have",
                    plain(hp)
                ),
            )
        });
    }
    Some(worst)
}

fn kilowatt_series(motor: &Motor) -> Option<Finding> {
    let mut worst = Finding::new(1.0, "the power is a usual rating");
    for &kw in motor.numbers(Field::Kw) {
        let rating =
            listed_in(KILOWATTS, kw) || listed_in(HORSEPOWER, Horsepower::from(Kilowatts(kw)).0);
        worst = worst.worse(if rating {
            Finding::new(1.0, format!("{} kW is a usual rating", plain(kw)))
        } else if (0.001..=750.0).contains(&kw) {
            Finding::new(0.4, format!("{} kW is no usual rating", plain(kw)))
        } else {
            Finding::new(
                0.005,
                format!(
                    "{} kW is outside what motors of plates like this have",
                    plain(kw)
                ),
            )
        });
    }
    Some(worst)
}

fn horsepower_kilowatts(motor: &Motor) -> Option<Finding> {
    let (hp, kw) = (motor.largest(Field::Hp)?, motor.largest(Field::Kw)?);
    let as_kw = Kilowatts::from(Horsepower(hp)).0;
    let message = format!(
        "{} hp is {} kW, the plate says {} kW",
        plain(hp),
        plain((as_kw * 100.0).round() / 100.0),
        plain(kw)
    );
    // Small fan motors print the watts they take, not those they give.
    let prints_watts = motor
        .printed(Field::Kw)
        .is_some_and(|p| p.parse::<f64>().is_ok_and(|n| n > kw * 100.0));
    if prints_watts && hp < 1.0 && (1.1..5.0).contains(&(kw / as_kw)) {
        return Some(Finding::new(0.6, format!("{message}, perhaps input power")));
    }
    // Both series round: 18.5 kW stands beside 25 hp, 3.7 beside 5, 4 beside 5.5.
    Some(Finding::new(within(kw / as_kw, 0.9, 1.1), message))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    /// Source: rows of NEC Tables 430.248 and 430.250, and 10 CFR 431.446 for the kW beside the hp.
    #[test]
    fn ratings() {
        check(
            RULES,
            "power-series",
            &[
                ('+', "hp=1/6"),
                ('+', "hp=.17"),
                ('+', "hp=.33"),
                ('+', "hp=7-1/2"),
                ('+', "hp=1/2,1/3,1/4"),
                ('+', "hp=500"),
                ('+', "hp=1/60"),
                ('+', "hp=2.7"),
                ('-', "hp=0"),
                ('-', "hp=7500"),
            ],
        );
        check(
            RULES,
            "kilowatt-series",
            &[
                ('+', "kw=0.18"),
                ('+', "kw=18.5"),
                ('+', "kw=0.746"),
                ('-', "kw=5500"),
            ],
        );
    }

    /// Source: 1 hp = 745.7 W; the pairs are those of 10 CFR 431.446 and of IEC preferred outputs.
    #[test]
    fn horsepower_and_kilowatts_agree() {
        check(
            RULES,
            "horsepower-kilowatts",
            &[
                ('+', "hp=.25 kw=0.18"),
                ('+', "hp=.33 kw=0.25"),
                ('+', "hp=.5 kw=0.37"),
                ('+', "hp=.75 kw=0.55"),
                ('+', "hp=1 kw=0.75"),
                ('+', "hp=1.5 kw=1.1"),
                ('+', "hp=3 kw=2.2"),
                ('+', "hp=5 kw=3.7"),
                ('+', "hp=5.5 kw=4"),
                ('+', "hp=25 kw=18.5"),
                ('+', "hp=0.5 kw=.4"),
                ('-', "hp=5 kw=37"),
                ('-', "hp=1.5 kw=1.5"),
                ('-', "hp=10 kw=5.5"),
                ('-', "hp=1/2 kw=1.5"),
            ],
        );
        let (_, message) = finding(&RULES[2], "hp=1-1/2 kw=11").expect("a finding");
        assert_eq!(message, "1.5 hp is 1.12 kW, the plate says 11 kW");
    }
}
