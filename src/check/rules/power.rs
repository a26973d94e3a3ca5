//! Power: the series in which motors are made, and horsepower against kilowatts.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, within};
use crate::record::Field;
use crate::record::notation::METRIC_HP;
use crate::units::{Horsepower, Kilowatts, plain};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "power-series",
        source: "NEMA MG 1 10.32 horsepower ratings and common practice for fan motors",
        needs: &[Field::Hp],
        uses: &[],
        judge: horsepower_series,
    },
    Rule {
        name: "kilowatt-series",
        source: "IEC 60072-1 preferred outputs, horsepower ratings in kW; common practice for fan motors",
        needs: &[Field::Kw],
        uses: &[Field::Hertz],
        judge: kilowatt_series,
    },
    Rule {
        name: "horsepower-kilowatts",
        source: "1 hp = 745.7 W",
        needs: &[Field::Hp, Field::Kw],
        uses: &[],
        judge: horsepower_kilowatts,
    },
    Rule {
        name: "kilowatts-then-horsepower",
        source: "1 hp = 745.7 W; plates print both as `2.2/3` behind one label (common practice)",
        needs: &[Field::Kw],
        uses: &[Field::Hp],
        judge: kilowatts_then_horsepower,
    },
    Rule {
        name: "power-frequencies",
        source: "a motor gives up to as much more power as its speed rises, 60 Hz to 50 Hz (motor equations); common practice: 1.0 to 1.25 times, in horsepower to 1.5 by the steps of MG 1 10.32",
        needs: &[Field::Hertz],
        uses: &[Field::Hp, Field::Kw],
        judge: power_frequencies,
    },
];

/// Usual ratings in hp.
const HORSEPOWER: &[f64] = &[
    1.0 / 125.0,
    0.01,
    1.0 / 83.0,
    1.0 / 70.0,
    1.0 / 60.0,
    1.0 / 50.0,
    1.0 / 47.0,
    1.0 / 40.0,
    1.0 / 35.0,
    1.0 / 30.0,
    1.0 / 25.0,
    1.0 / 20.0,
    1.0 / 15.0,
    1.0 / 12.0,
    0.1,
    1.0 / 8.0,
    1.0 / 7.0,
    1.0 / 6.0,
    0.2,
    0.25,
    1.0 / 3.0,
    0.5,
    0.75,
    1.0,
    1.5,
    2.0,
    3.0,
    5.0,
    7.5,
    10.0,
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

/// Ratings in hp that are met now and then.
const RARE_HORSEPOWER: &[f64] = &[
    1.0 / 100.0,
    1.0 / 80.0,
    1.0 / 16.0,
    1.0 / 75.0,
    0.075,
    0.15,
    0.3,
    0.4,
    0.6,
    // Of 1.5 hp the power at two thirds of the speed, as fans take it.
    0.67,
    0.8,
    0.9,
    1.25,
    1.75,
    2.5,
    4.0,
    5.5,
    6.0,
    12.5,
    13.5,
];

/// Ratings in kW: IEC 60072-1 preferred outputs.
const KILOWATTS: &[f64] = &[
    0.06, 0.09, 0.12, 0.18, 0.25, 0.37, 0.55, 0.75, 1.1, 1.5, 1.8, 2.2, 3.0, 3.7, 4.0, 5.5, 6.3,
    7.5, 9.2, 10.0, 11.0, 13.0, 15.0, 17.0, 18.5, 20.0, 22.0, 25.0, 30.0, 37.0, 40.0, 45.0, 55.0,
    63.0, 75.0, 80.0, 90.0, 100.0, 110.0, 132.0, 160.0, 200.0, 250.0, 315.0, 355.0, 375.0,
];

/// Whether a value is in the series, exactly or rounded as plates round thirds and eighths (.33, .17, .13).
fn listed_in(series: &[f64], value: f64) -> bool {
    let rounds_to = |exact: f64| {
        let units = [100.0, 1000.0, 10_000.0];
        exact < 1.0
            && (exact / value - 1.0).abs() < 0.05
            && units.iter().any(|unit| {
                ((exact - value) * unit).abs() < 0.5 + 1e-9 && (value * unit).fract().abs() < 1e-9
            })
    };
    series
        .iter()
        .any(|exact| (exact - value).abs() < 1e-9 || rounds_to(*exact))
}

/// Whether a value converted from another unit is in the series.
fn near(series: &[f64], value: f64) -> bool {
    series.iter().any(|s| (value / s - 1.0).abs() < 0.012)
}

/// Whether one of several powers is a part of a horsepower, `1/9` of `1/3-1/9`: the lower speeds of a fan motor have what
/// the winding gives.
fn is_part(powers: &[f64], hp: f64) -> bool {
    let parts = 1.0 / hp;
    powers.len() > 1 && (2.0..=60.0).contains(&parts) && (parts - parts.round()).abs() < 1e-6
}

/// Whether one of several powers is what another, usual one becomes with the speed: with its first power at constant
/// torque, with its square at variable torque (NEMA MG 1 10.33 and 10.34, from memory), with its cube on a fan or pump.
fn follows_speed(powers: &[f64], speeds: &[f64], at: usize) -> bool {
    // Two figures are printed of the power.
    const ROUNDED: f64 = 0.06;
    if powers.len() != speeds.len() {
        return false;
    }
    let others = powers.iter().zip(speeds);
    let mut usual = others.filter(|(hp, rpm)| listed_in(HORSEPOWER, **hp) && **rpm > speeds[at]);
    usual.any(|(hp, rpm)| {
        let slower = speeds[at] / rpm;
        (1..=3).any(|n| (powers[at] / (hp * slower.powi(n)) - 1.0).abs() < ROUNDED)
    })
}

fn horsepower_series(motor: &Motor) -> Option<Finding> {
    let values = motor.numbers(Field::Hp);
    let printed = motor.printed(Field::Hp)?;
    // A table gives it for every speed or supply: 1.5, 1.5 and 1.75 hp at 50, 50 and 60 Hz.
    let for_each = |field: Field| motor.numbers(field).len() == values.len();
    let table = printed.trim().contains(char::is_whitespace)
        || [Field::Rpm, Field::Hertz].into_iter().any(for_each);
    let mut worst = Finding::new(1.0, "the power is a usual rating");
    if values.windows(2).any(|w| w[0] == w[1]) && !table {
        worst = Finding::new(0.1, format!("{} hp is printed twice", plain(values[0])));
    }
    let metric = printed.ends_with("PS");
    let speeds = motor.numbers(Field::Rpm);
    for (at, &hp) in values.iter().enumerate() {
        let converted = Kilowatts::from(Horsepower(hp)).0;
        // Metric horsepower has the same series.
        let usual = listed_in(HORSEPOWER, hp)
            || metric && near(HORSEPOWER, hp / METRIC_HP)
            || follows_speed(values, speeds, at);
        worst = worst.worse(if usual {
            Finding::new(1.0, format!("{} hp is a usual rating", plain(hp)))
        } else if listed_in(RARE_HORSEPOWER, hp)
            || near(KILOWATTS, converted)
            || is_part(values, hp)
        {
            Finding::new(0.3, format!("{} hp is a rare rating", plain(hp)))
        } else if (0.002..=1000.0).contains(&hp) {
            Finding::new(0.12, format!("{} hp is no usual rating", plain(hp)))
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
    let listed = motor.numbers(Field::Kw);
    // At 60 Hz a motor gives up to a fifth more than the rating at 50 Hz that it is made for.
    let both = [50.0, 60.0]
        .iter()
        .all(|f| motor.numbers(Field::Hertz).contains(f));
    let at_sixty = |kw: f64| {
        let mut made_for = listed.iter().filter(|&&own| listed_in(KILOWATTS, own));
        both && made_for.any(|own| (1.1..1.22).contains(&(kw / own)))
    };
    for &kw in listed {
        let rating = listed_in(KILOWATTS, kw)
            || near(HORSEPOWER, Horsepower::from(Kilowatts(kw)).0)
            || at_sixty(kw);
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
        .is_some_and(|p| p.ends_with('W') && !p.to_uppercase().ends_with("KW"));
    if prints_watts && hp < 1.0 && (1.1..5.0).contains(&(kw / as_kw)) {
        return Some(Finding::new(0.6, format!("{message}, perhaps input power")));
    }
    // Both series round: 18.5 kW stands beside 25 hp, 3.7 beside 5, 4 beside 5.5.
    Some(Finding::new(within(kw / as_kw, 0.9, 1.1), message))
}

/// Of two powers in kilowatts the second may be the first in horsepower.
fn kilowatts_then_horsepower(motor: &Motor) -> Option<Finding> {
    let &[first, second] = motor.numbers(Field::Kw) else {
        return None;
    };
    let one = (second / Horsepower::from(Kilowatts(first)).0 - 1.0).abs() < 0.025;
    (one && motor.numbers(Field::Hp).is_empty()).then(|| {
        let (kw, hp) = (plain(first), plain(second));
        Finding::new(
            0.1,
            format!("{kw} kW is {hp} hp, and {hp} may not be kilowatts"),
        )
    })
}

/// The power at 60 Hz beside that at 50 Hz.
fn power_frequencies(motor: &Motor) -> Option<Finding> {
    let hertz = motor.numbers(Field::Hertz);
    let (unit, powers) = [("kW", Field::Kw), ("hp", Field::Hp)]
        .map(|(unit, field)| (unit, motor.numbers(field)))
        .into_iter()
        .find(|(_, powers)| powers.len() > 1 && powers.len() == hertz.len())?;
    let most = |frequency: f64| -> Option<f64> {
        let rated = hertz.iter().zip(powers).filter(|(h, _)| **h == frequency);
        rated.map(|(_, power)| *power).reduce(f64::max)
    };
    let (fifty, sixty) = (most(50.0)?, most(60.0)?);
    // Horsepower is rated in the steps of its series: 3 hp at 60 Hz are 2 hp at 50 Hz.
    let usual = if unit == "hp" { 1.5 } else { 1.25 };
    Some(Finding::new(
        within(sixty / fifty, 0.95, usual + 0.03),
        format!(
            "{} {unit} at 60 Hz beside {} {unit} at 50 Hz; usual is 1.0 to {usual} times as much",
            plain(sixty),
            plain(fifty)
        ),
    ))
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
                ('-', "hp=7.6"),
                ('-', "hp=.28"),
                ('-', "hp=1/1"),
                ('-', "hp=1-1/7"),
                ('+', "hp=.13"),
                ('+', "hp=5_5"),
                ('+', "hp=1.47"),
                ('-', "hp=0"),
                ('-', "hp=7500"),
                // With the square of the speed, with its cube.
                ('+', "hp=15/3.75 rpm=1765/880"),
                ('+', "hp=7.5/3.3 rpm=1755/1165"),
                ('+', "hp=1.5/.19 rpm=3450/1725"),
                ('-', "hp=15/8.9 rpm=1765/880"),
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
                ('+', "hertz=50/60 kw=11/12.6"),
            ],
        );
    }

    /// Source: rating plates of IEC 60034-1 for both frequencies: common practice, from memory.
    #[test]
    fn power_goes_with_the_frequency() {
        check(
            RULES,
            "power-frequencies",
            &[
                ('+', "hertz=50/60 kw=15/17.25"),
                ('+', "hertz=60/50 kw=1.1/1.1"),
                ('+', "hertz=50/60 hp=1.5/1.75"),
                ('+', "hertz=50/50/60 kw=1.5/1.5/1.75"),
                ('-', "hertz=50/60 kw=15/7.25"),
                ('-', "hertz=50/60 kw=1.5/17.3"),
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
                // The watts that a small pump takes.
                ('+', "hp=1/25 kw=87_W"),
                ('-', "hp=5 kw=37"),
                ('-', "hp=1.5 kw=1.5"),
                ('-', "hp=10 kw=5.5"),
                ('-', "hp=1/2 kw=1.5"),
            ],
        );
        check(
            RULES,
            "kilowatts-then-horsepower",
            &[('-', "kw=2.2/3"), ('-', "kw=0.75/1"), ('-', "kw=5.5/7.5")],
        );
        assert!(finding(&RULES[3], "kw=2.2/0.55").is_none());
        assert!(finding(&RULES[3], "kw=2.2/2.64 hertz=50/60").is_none());
        let (_, message) = finding(&RULES[2], "hp=1-1/2 kw=11").expect("a finding");
        assert_eq!(message, "1.5 hp is 1.12 kW, the plate says 11 kW");
    }
}
