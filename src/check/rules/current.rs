//! Current: what it must be for the power, and how it goes with the voltages of one plate.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, within};
use crate::record::{Field, RatingPoint, notation};
use crate::trade::{self, formulas};
use crate::units::{Amps, Horsepower, Volts, plain};

const POWER_FIELDS: &[Field] = &[Field::Hp, Field::Kw, Field::Phase];

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "amps-power",
        source: "input and output of a motor: efficiency x power factor = 746 hp / (V I), with sqrt(3) for three phases; usual values from NEC Tables 430.248 and 430.250 and common practice",
        needs: &[Field::Amps, Field::Volts],
        uses: POWER_FIELDS,
        judge: amps_power,
    },
    Rule {
        name: "amps-code-table",
        source: "NEC Tables 430.248 (single phase) and 430.250 (three phase), scaled to the voltage",
        needs: &[Field::Amps, Field::Volts],
        uses: POWER_FIELDS,
        judge: amps_code_table,
    },
    Rule {
        name: "amps-voltages",
        source: "amps of one winding go in inverse proportion to its voltages (motor equations); common practice for 208-230 V",
        needs: &[Field::Amps, Field::Volts],
        uses: &[Field::Hp, Field::Kw, Field::Hertz, Field::Rpm],
        judge: amps_voltages,
    },
    Rule {
        name: "amps-cut",
        source: "amps of one winding go in inverse proportion to its voltages, 2 or the root of 3 times (motor equations); common practice: both are printed with their decimals, and so are amps below 10",
        needs: &[Field::Amps],
        uses: &[],
        judge: |motor| cut(motor, Field::Amps),
    },
    Rule {
        name: "service-factor-amps-cut",
        source: "as for the full-load amps",
        needs: &[Field::ServiceFactorAmps],
        uses: &[],
        judge: |motor| cut(motor, Field::ServiceFactorAmps),
    },
];

/// Lowest and highest usual efficiency x power factor of a motor of that power.
fn usual_product(phase: u8, hp: f64, small_fan: bool) -> (f64, f64) {
    // What the code's table implies is a cautious, so a low, value for general-purpose motors.
    let table = trade::usual_full_load_current(phase, Horsepower(hp), Volts(230.0))
        .map(|a| formulas::efficiency_times_power_factor(phase, Volts(230.0), a, Horsepower(hp)));
    match (phase, table) {
        (3, Some(table)) => (0.72 * table, (1.65 * table).min(0.93)),
        (3, None) if hp > 1.0 => (0.7, 0.95),
        (3, None) => (0.2, 0.7),
        (_, Some(table)) if small_fan => (0.7 * table, 0.82),
        (_, Some(table)) => (0.75 * table, if hp < 1.4 { 0.8 } else { 0.92 }),
        // Below 1/6 hp efficiencies fall to a tenth (shaded pole).
        (_, None) => (0.06, 0.8),
    }
}

/// The phases that the plate may mean.
fn phases(motor: &Motor) -> Vec<u8> {
    motor.phase().map_or_else(|| vec![1, 3], |p| vec![p])
}

/// Volts, amps and power of a rating point that has all three.
fn complete(point: &RatingPoint) -> Option<(Volts, Amps, Horsepower)> {
    let (volts, amps, power) = (point.volts?, point.amps?, point.power()?);
    (volts.0 > 0.0 && amps.0 > 0.0 && power.0 > 0.0).then_some((volts, amps, power))
}

/// From this ratio on the ends of a range of voltages are no names of one supply.
const WIDE: f64 = 1.2;

fn amps_power(motor: &Motor) -> Option<Finding> {
    let points = motor.ratings().points;
    let most = motor.power()?.0;
    let by_kilowatts = motor.candidate(Field::Hp).is_none();
    // One current for a wide range of voltages, of a motor with its own controller, is that of one of them.
    let volts = motor.numbers(Field::Volts);
    let wide = matches!(volts, [low, high] if *high > WIDE * low)
        && motor.numbers(Field::Amps).len() == 1
        && motor.printed(Field::Volts).is_some_and(|p| p.contains('-'));
    let likelier = |a: Finding, b: Finding| if b.factor > a.factor { b } else { a };
    // One power beside several speeds is that of the highest; at the others a fan takes far less. Not so at another frequency.
    let fastest = motor.largest(Field::Rpm).unwrap_or_default();
    let mut alike = [Field::Hp, Field::Kw, Field::Hertz].into_iter();
    let one_power = alike.all(|field| motor.numbers(field).len() < 2);
    let slower =
        |point: &&RatingPoint| one_power && point.rpm.is_some_and(|rpm| rpm.0 < 0.999 * fastest);
    let mut found: Option<Finding> = None;
    for (volts, amps, power) in points
        .iter()
        .filter(|point| !slower(point))
        .filter_map(complete)
    {
        let best = phases(motor).into_iter().map(|phase| {
            let product = formulas::efficiency_times_power_factor(phase, volts, amps, power);
            let (mut low, mut high) = usual_product(phase, power.0, motor.marks.run_capacitor || motor.marks.air_over);
            if power.0 < most * 0.999 {
                // The low speed of a motor made for the high one.
                low *= 0.5;
            }
            if by_kilowatts && power.0 < 1.0 {
                // Small fan motors print the watts they take: then this is the power factor alone.
                high = 1.0;
            }
            let factor = if product > 0.0 && product < 1.0 { within(product, low, high) } else { 0.0 };
            let what = if by_kilowatts { format!("{} kW", plain(power.0 * Horsepower::WATTS / 1000.0)) } else { format!("{} hp", plain(power.0)) };
            Finding::new(
                factor,
                format!("{amps} at {volts} for {what} needs efficiency x power factor {product:.2}; usual is {low:.2} to {high:.2}"),
            )
        });
        let finding = best.reduce(likelier)?;
        found = Some(match found {
            Some(known) if wide => likelier(known, finding),
            Some(known) => known.worse(finding),
            None => finding,
        });
    }
    found
}

fn amps_code_table(motor: &Motor) -> Option<Finding> {
    let mut worst: Option<Finding> = None;
    for (volts, amps, power) in motor.full_power_points().iter().filter_map(complete) {
        let best = phases(motor).into_iter().filter_map(|phase| {
            let usual = trade::usual_full_load_current(phase, power, volts)?;
            let low = match phase {
                3 => 0.5,
                // Fan motors in an air stream draw far less than the table.
                _ => 0.36,
            };
            let factor = within(amps.0 / usual.0, low, 1.4).max(0.03);
            Some(Finding::new(
                factor,
                format!(
                    "{amps} at {volts} stands against {:.1} A of the code's table for {} hp",
                    usual.0,
                    plain(power.0)
                ),
            ))
        });
        let finding = best.reduce(|a, b| if b.factor > a.factor { b } else { a })?;
        worst = Some(match worst {
            Some(known) => known.worse(finding),
            None => finding,
        });
    }
    worst
}

/// Half of the last printed digit of each number, so that rounding is not taken for a contradiction.
fn rounding(printed: &str) -> Vec<f64> {
    let numbers = printed.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','));
    numbers
        .filter(|n| n.chars().any(|c| c.is_ascii_digit()))
        .map(|n| {
            let decimals = n.rsplit_once(['.', ',']).map_or(0, |(_, d)| d.len());
            0.5 * 0.1f64.powi(decimals as i32)
        })
        .collect()
}

fn amps_voltages(motor: &Motor) -> Option<Finding> {
    let several = [Field::Hp, Field::Kw, Field::Rpm]
        .iter()
        .any(|&f| motor.numbers(f).len() > 1);
    if several || motor.numbers(Field::Hertz).len() > 1 {
        return None;
    }
    let points: Vec<(Volts, Amps)> = motor
        .ratings()
        .points
        .iter()
        .filter_map(|p| p.volts.zip(p.amps))
        .collect();
    let printed = motor.printed(Field::Amps)?;
    let digits = rounding(printed);
    let flat = notation::groups(Field::Amps, printed).flat();
    let half = |amps: Amps| {
        flat.iter()
            .position(|a| *a == amps.0)
            .and_then(|i| digits.get(i))
            .copied()
            .unwrap_or(0.05)
    };
    let mut worst: Option<Finding> = None;
    for pair in points.windows(2) {
        let ((v1, a1), (v2, a2)) = (pair[0], pair[1]);
        if v1 == v2 || a1 == a2 && v2.0 / v1.0 < 1.3 || a1.0 <= 0.0 || a2.0 <= 0.0 {
            // A range of voltages may share its current.
            continue;
        }
        // 1 when the currents go in inverse proportion, with the room that rounding leaves.
        let (low, high) = (
            (a1.0 - half(a1)).max(1e-6) * v1.0 / ((a2.0 + half(a2)) * v2.0),
            (a1.0 + half(a1)) * v1.0 / ((a2.0 - half(a2)).max(1e-6) * v2.0),
        );
        let factor = if v2.0 / v1.0 < 1.3 && v1.0 / v2.0 < 1.3 {
            // At the low end of a range some motors draw more, some as much, small ones a little less.
            if high < 0.8 || low > 1.25 { 0.05 } else { 1.0 }
        } else if low <= 1.08 && high >= 0.93 {
            1.0
        } else {
            within(if low > 1.08 { low } else { high }, 0.93, 1.08).powi(3)
        };
        let finding = Finding::new(
            factor,
            format!(
                "{a1} at {v1} and {a2} at {v2}: the higher voltage goes with the lower current, {:.1} A expected beside {a1}",
                formulas::amps_at_other_voltage(a1, v1, v2).0
            ),
        );
        worst = Some(match worst {
            Some(known) => known.worse(finding),
            None => finding,
        });
    }
    worst
}

/// Whether currents read off a photo seem to have lost their decimals: `28.6/14`, where half of 28.6 is 14.3; and `3`, since
/// none of the 327 plates drawn and generated for measuring prints a single current of one figure.
fn cut(motor: &Motor, field: Field) -> Option<Finding> {
    let printed = motor.printed(field).filter(|_| motor.marks.worn)?;
    // The rows of a table stand apart: `3.3-3.1/1 3.0/1.5`.
    let rows: Vec<&str> = printed.split(' ').collect();
    let one = rows.len() == 1;
    let rows = rows.into_iter().filter_map(|row| cut_row(field, row, one));
    rows.reduce(Finding::worse)
}

/// The same of one row; `one` where the plate has no other.
fn cut_row(field: Field, printed: &str, one: bool) -> Option<Finding> {
    /// What rounding to a whole number may take, as a share.
    const ROUNDED: f64 = 0.015;
    let numbers: Vec<f64> = notation::groups(field, printed).flat();
    let alike = Finding::new(1.0, "the amps are printed with their decimals");
    let halves = rounding(printed);
    let whole = |half: f64| half > 0.4;
    let (last, last_half) = (*numbers.last()?, *halves.last()?);
    if !whole(last_half) {
        return Some(alike);
    }
    if one && numbers.len() == 1 && last < 10.0 {
        let message = format!(
            "{} A is printed without a decimal: it may be worn away",
            plain(last)
        );
        return Some(Finding::new(0.1, message));
    }
    let (&[.., before, _], &[.., before_half, _]) = (&numbers[..], &halves[..]) else {
        return Some(alike);
    };
    let exact = [2.0, 3f64.sqrt()].map(|ratio| before / ratio);
    let lost = exact
        .into_iter()
        .find(|exact| exact.trunc() == last && exact / last > 1.0 + ROUNDED);
    let message = |exact| {
        format!(
            "{} A beside {} A: {exact:.1} A would fit, its last figures may be cut off",
            plain(last),
            plain(before)
        )
    };
    Some(match lost.filter(|_| !whole(before_half)) {
        Some(exact) => Finding::new(0.1, message(exact)),
        None => alike,
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    fn both(rows: &[(char, &str)]) {
        check(RULES, "amps-power", rows);
    }

    /// A current at one end of a wide range of voltages, at which a motor with its own controller takes the same power:
    /// 735 W at 277 V, 3.2 A and a power factor of 0.83 (P = V I cos phi).
    #[test]
    fn a_current_of_a_wide_range_is_that_of_one_voltage() {
        check(
            RULES,
            "amps-power",
            &[
                ('+', "volts=200-277 amps=3.2 kw=0.735 phase=1"),
                ('-', "volts=200-277 amps=32 kw=0.735 phase=1"),
                ('-', "volts=200 amps=3.2 kw=0.735 phase=1"),
            ],
        );
    }

    /// Source: NEC Tables 430.248 and 430.250: every cell is plausible, and ten times or a tenth of it is not.
    #[test]
    fn every_cell_of_the_code_passes_and_a_lost_decimal_point_does_not() {
        let volts = [
            (1, vec![115.0, 200.0, 208.0, 230.0]),
            (3, vec![200.0, 208.0, 230.0, 460.0, 575.0]),
        ];
        let powers = [
            0.1667, 0.25, 0.3333, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0,
            30.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0,
        ];
        let mut cells = 0;
        for (phase, volts) in volts {
            for v in volts {
                for hp in powers {
                    let Some(amps) = trade::full_load_current(phase, Horsepower(hp), Volts(v))
                    else {
                        continue;
                    };
                    cells += 1;
                    let plate =
                        |a: f64| format!("phase={phase} volts={v} hp={hp} amps={}", plain(a));
                    both(&[
                        ('+', &plate(amps.0)),
                        ('-', &plate(amps.0 * 10.0)),
                        ('-', &plate(amps.0 / 10.0)),
                    ]);
                    check(
                        RULES,
                        "amps-code-table",
                        &[
                            ('+', &plate(amps.0)),
                            ('-', &plate(amps.0 * 10.0)),
                            ('-', &plate(amps.0 / 10.0)),
                        ],
                    );
                }
            }
        }
        assert!(cells > 100, "{cells}");
    }

    /// Source: `typical_fan_motor_amps.csv` (seven rows read on public pages, the others trade memory): low,
    /// typical and high of every row pass.
    #[test]
    fn fan_motors_pass() {
        for motor in trade::fan_motors() {
            for amps in [motor.low, Some(motor.typical), motor.high]
                .into_iter()
                .flatten()
            {
                let plate = format!(
                    "phase=1 volts={} hp={} amps={} AO PSC",
                    motor.volts.1.0,
                    plain(motor.hp.0),
                    amps.0
                );
                both(&[('+', &plate)]);
                check(RULES, "amps-code-table", &[('+', &plate)]);
            }
        }
    }

    /// Source: AMO-Tools-Suite comment (225.8 A for 200 hp at 460 V); IEC catalogue figures and shaded-pole
    /// figures are common practice, from memory.
    #[test]
    fn amps_fit_the_power() {
        both(&[
            ('+', "phase=3 volts=460 hp=200 amps=225.8"),
            ('+', "phase=3 volts=230/460 hp=1 amps=2.8/1.4"),
            ('+', "phase=3 volts=208-230/460 hp=5 amps=13.6-12.8/6.4"),
            ('+', "phase=3 volts=230/400 kw=0.12 amps=0.75/0.43"),
            ('+', "phase=3 volts=230/400 kw=0.75 amps=3.1/1.8"),
            ('+', "phase=3 volts=400/690 kw=11 amps=20.4/11.8"),
            ('+', "phase=3 volts=400 kw=110 amps=192"),
            ('+', "phase=1 volts=115/230 hp=1/2 amps=8.6/4.3"),
            ('+', "phase=1 volts=230 hp=5 amps=21"),
            ('+', "phase=1 volts=115 hp=1/20 amps=1.7 SP"),
            ('+', "phase=1 volts=115 kw=0.006 amps=0.48 SP"),
            ('+', "phase=1 volts=120 hp=1/60 amps=0.35"),
            ('+', "phase=1 volts=115 hp=1/2,1/3,1/4 amps=7.4/5.2/3.9 PSC"),
            ('+', "phase=1 volts=115 hp=1/.25 amps=15.3/6.8"),
            ('+', "phase=3 volts=460 hp=5/1 amps=7.5/2.7"),
            ('+', "volts=230 hp=1/2 amps=3.5"),
            ('-', "phase=1 volts=230 hp=1/2 amps=68"),
            ('-', "phase=1 volts=230 hp=1/2 amps=1.2"),
            ('-', "phase=3 volts=208-230/460 hp=5 amps=136-128/64"),
            ('-', "phase=3 volts=230/460 hp=50 amps=14/7"),
            ('-', "phase=3 volts=400/690 kw=11 amps=2.04/1.18"),
            ('-', "phase=1 volts=115 hp=1/20 amps=17 SP"),
            ('-', "phase=3 volts=575 hp=30 amps=268"),
            ('-', "volts=230 hp=1/2 amps=35"),
        ]);
        let (_, message) =
            finding(&RULES[0], "phase=1 volts=230 hp=1/2 amps=6.8").expect("a finding");
        assert_eq!(
            message,
            "6.8 A at 230 V for 0.5 hp needs efficiency x power factor 0.24; usual is 0.25 to 0.80"
        );
    }

    /// Each row of a table is looked at by itself.
    #[test]
    fn a_row_of_a_table_that_lost_its_decimals() {
        let doubted = |row| cut_row(Field::Amps, row, false).is_some_and(|f| f.factor < 0.5);
        assert!(doubted("3.3-3.1/1"));
        assert!(!doubted("3.3-3.1/1.55"));
        assert!(!doubted("5"));
    }

    /// Source: motor equations; that both have their decimals is common practice.
    #[test]
    fn a_current_that_lost_its_decimals() {
        for (rule, key) in [
            ("amps-cut", "amps"),
            ("service-factor-amps-cut", "service_factor_amps"),
        ] {
            let rows = [
                ('+', "28.6/14.3"),
                ('+', "25/12.5"),
                ('+', "91/45"),
                ('+', "28.1/14"),
                ('+', "13.6"),
                ('+', "27.4/14"),
                ('-', "28.6/14"),
                ('-', "26.5/15"),
                ('-', "13.6-12.8/6"),
                ('-', "3"),
                ('+', "3.0"),
                ('+', "14/7"),
                ('+', "12"),
            ];
            let rows: Vec<(char, String)> = rows
                .iter()
                .map(|(sign, printed)| (*sign, format!("{key}={printed} WORN")))
                .collect();
            let rows: Vec<(char, &str)> = rows.iter().map(|(s, row)| (*s, row.as_str())).collect();
            check(RULES, rule, &rows);
            // What somebody typed has all its figures.
            let typed = format!("{key}=3");
            assert!(finding(RULES.iter().find(|r| r.name == rule).unwrap(), &typed).is_none());
        }
    }

    /// Source: motor equations: inverse proportion at two voltages; NEC Table 430.250 gives 208 V beside 230 V.
    #[test]
    fn amps_go_against_the_volts() {
        check(
            RULES,
            "amps-voltages",
            &[
                ('+', "volts=230/460 amps=12.8/6.4"),
                ('+', "volts=208-230/460 amps=13.6-12.8/6.4"),
                ('+', "volts=208-230/460 amps=16.7-15.2/7.6"),
                ('+', "volts=208-230/460 amps=6.4/3.2"),
                ('+', "volts=208-230 amps=5.2-4.8"),
                ('+', "volts=208-230 amps=3.4-3.6"),
                ('+', "volts=208-230 amps=2.4"),
                ('+', "volts=115/230 amps=9.8/4.9"),
                ('+', "volts=115/208-230 amps=14.8/7.8-7.4"),
                ('+', "volts=230/400 amps=3.0/1.7"),
                ('+', "volts=220-240/380-415 amps=3.6/2.1"),
                ('+', "volts=230/460 amps=1.2/0.60"),
                ('+', "volts=230/460 amps=.9/.5"),
                ('+', "volts=230/460 amps=91/45.5"),
                ('-', "volts=230/460 amps=6.4/12.8"),
                ('-', "volts=230/460 amps=12.8/12.8"),
                ('-', "volts=230/460 amps=12.8/64"),
                ('-', "volts=115/230 amps=9.8/4.0"),
                ('-', "volts=208-230/460 amps=13.6-12.8/8.4"),
                ('-', "volts=208-230/460 amps=18.6-12.8/6.4"),
                ('-', "volts=208-230 amps=52-4.8"),
            ],
        );
    }
}
