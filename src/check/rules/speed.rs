//! Speed: a full-load speed lies a little below a synchronous one.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, falling, listed, nearest};
use crate::record::Field;
use crate::trade;
use crate::units::{Hertz, Rpm, plain};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "speed-slip",
        source: "synchronous speed = 120 f / poles; usual slips from motor speed tables and common practice",
        needs: &[Field::Rpm],
        uses: &[
            Field::Hertz,
            Field::Phase,
            Field::Hp,
            Field::Kw,
            Field::ServiceFactor,
            Field::KvaCode,
            Field::CapacitorUf,
        ],
        judge: speed_slip,
    },
    Rule {
        name: "speed-poles",
        source: "synchronous speed = 120 f / poles",
        needs: &[Field::Rpm],
        uses: &[Field::Hertz],
        judge: speed_poles,
    },
    Rule {
        name: "speed-series",
        source: "full-load speeds that plates print (motor speed tables, trade pages); common practice",
        needs: &[Field::Rpm],
        uses: &[Field::Hertz, Field::Hp, Field::Kw],
        judge: speed_series,
    },
    Rule {
        name: "speed-rows",
        source: "synchronous speed = 120 f / poles: no induction motor has one full-load speed at two frequencies",
        needs: &[Field::Rpm, Field::Hertz],
        uses: &[],
        judge: speed_rows,
    },
    Rule {
        name: "speed-taps",
        source: "common practice",
        needs: &[Field::Rpm],
        uses: &[],
        judge: speed_taps,
    },
];

/// Fan motors up to this power, horsepower, slip more than others (common practice).
const SMALL: f64 = 0.34;

/// Largest slip that is quite usual, and the one that is hardly met, as fractions.
fn usual_slip(motor: &Motor, hertz: Hertz) -> (f64, f64) {
    let hp = motor.power().map(|p| p.0);
    let three_phase = motor.phase() == Some(3);
    if motor.marks.shaded_pole {
        (0.22, 0.27)
    } else if motor.marks.run_capacitor && !motor.looks_general_purpose() {
        // The smallest slip most: 840 rpm of 1000, 1430 of 1800 where the rotor is outside.
        match hp {
            Some(hp) if hp > SMALL => (0.14, 0.16),
            _ => (0.21, 0.26),
        }
    } else if three_phase && let Some(hp) = hp.filter(|hp| *hp >= 0.99 && !motor.marks.air_over) {
        // Slip falls as motors grow; small 50 Hz motors slip more.
        let at_50 = if hertz.0 < 55.0 && hp < 5.0 {
            0.03
        } else {
            0.0
        };
        match hp {
            h if h >= 19.0 => (0.035, 0.042),
            h if h >= 7.4 => (0.048, 0.06),
            _ => (0.058 + at_50, 0.072 + at_50),
        }
    } else if three_phase {
        (0.13, 0.18)
    } else if motor.looks_general_purpose() {
        (0.08, 0.12)
    } else {
        (0.17, 0.23)
    }
}

/// A speed up to so much above a synchronous one was most likely meant to lie below it.
const OVER: f64 = 1.06;

fn speed_slip(motor: &Motor) -> Option<Finding> {
    let (speeds, hertz) = (motor.numbers(Field::Rpm), motor.hertz());
    let printed = motor.numbers(Field::Hertz).len();
    let range = motor.printed(Field::Rpm)?.contains('-');
    if range && matches!(speeds, [low, high] if *high >= 2.0 * low) {
        // Of a motor with variable speed: no frequency of the supply binds it.
        return None;
    }
    if speeds.len() == printed && printed > 1 && !range {
        // A speed for each frequency, in the one order or in the other: all of them must fit.
        let at = |(&rpm, &hertz): (&f64, &Hertz)| slip_at(motor, Rpm(rpm), hertz);
        let worse = |a: Finding, b: Finding| if b.factor < a.factor { b } else { a };
        let straight = speeds.iter().zip(&hertz).map(at).reduce(worse)?;
        let reversed = speeds.iter().rev().zip(&hertz).map(at).reduce(worse)?;
        return Some(likelier(straight, reversed));
    }
    let rpm = Rpm(motor.largest(Field::Rpm)?);
    let judged = hertz.into_iter().map(|hertz| slip_at(motor, rpm, hertz));
    judged.reduce(likelier)
}

/// With several frequencies a speed must fit one of them.
fn likelier(a: Finding, b: Finding) -> Finding {
    if b.factor > a.factor { b } else { a }
}

/// What the slip of a speed at a frequency says.
fn slip_at(motor: &Motor, rpm: Rpm, hertz: Hertz) -> Finding {
    let highest = trade::synchronous_speed(hertz, 2);
    if rpm.0 > highest.0 {
        return Finding::new(
            0.01,
            format!("{rpm} is above {highest}, the highest synchronous speed at {hertz}"),
        );
    }
    let Some(poles) = trade::poles(rpm, hertz) else {
        return Finding::new(0.05, format!("{rpm} is too slow for a motor at {hertz}"));
    };
    let sync = trade::synchronous_speed(hertz, poles);
    let slip = trade::slip(rpm, sync);
    let (usual, most) = usual_slip(motor, hertz);
    // A little above a synchronous speed it is told by that one, which no induction motor reaches.
    let over = trade::synchronous_speed(hertz, poles + 2);
    let text = if slip > most && rpm.0 < OVER * over.0 {
        let more = poles + 2;
        format!("{rpm} is above {over} ({more} poles at {hertz}), which no induction motor reaches")
    } else {
        format!(
            "{rpm} is {:.1} % below {sync} ({poles} poles at {hertz}); usual is up to {:.0} %",
            slip * 100.0,
            usual * 100.0
        )
    };
    if poles > 12 {
        return Finding::new(0.1, format!("{rpm} would need {poles} poles at {hertz}"));
    }
    if slip < 1e-4 {
        return Finding::new(
            0.5,
            format!("{rpm} is the synchronous speed itself ({poles} poles at {hertz})"),
        );
    }
    let fan = motor.marks.run_capacitor && !motor.looks_general_purpose();
    if fan && slip < 0.035 {
        return Finding::new(
            0.15,
            format!("{text}, and a fan motor with a run capacitor slips at least 4 %"),
        );
    }
    Finding::new(falling(slip, usual, most).max(0.01), text)
}

/// The poles that the plate names, and the speed.
fn speed_poles(motor: &Motor) -> Option<Finding> {
    /// No induction motor slips more at full load.
    const MOST: f64 = 0.35;
    let poles = motor.marks.poles?;
    let rpm = Rpm(motor.largest(Field::Rpm)?);
    let judged = motor.hertz().into_iter().map(|hertz| {
        let sync = trade::synchronous_speed(hertz, poles);
        let fits = rpm.0 <= sync.0 && rpm.0 > (1.0 - MOST) * sync.0;
        let text =
            format!("{rpm} beside {poles} poles, which turn at {sync} at {hertz} without load");
        Finding::new(if fits { 1.0 } else { 0.02 }, text)
    });
    judged.reduce(likelier)
}

/// Whether a 60 Hz speed lies farther below the synchronous one of 4 to 12 poles than those of most motors. Fan motors that slip
/// so much have few speeds (common practice): of 700 on plates drawn by strangers two had another.
fn slips_much(rpm: Rpm) -> bool {
    const MUCH: f64 = 0.1;
    let hertz = Hertz(60.0);
    let poles = trade::poles(rpm, hertz).filter(|poles| (4..=12).contains(poles));
    poles.is_some_and(|p| trade::slip(rpm, trade::synchronous_speed(hertz, p)) > MUCH)
}

fn speed_series(motor: &Motor) -> Option<Finding> {
    let at_60 = motor.hertz().first() == Some(&Hertz(60.0));
    let small = motor.power().is_none_or(|p| p.0 < 0.99);
    // The speeds of taps are what they are.
    let alone = motor.numbers(Field::Hertz) == [60.0] && motor.numbers(Field::Rpm).len() == 1;
    let mut worst: Option<Finding> = None;
    for &rpm in motor.numbers(Field::Rpm) {
        let known = trade::plate_speeds().iter().filter(|s| s.rpm.0 == rpm);
        let finding = if let Some(usual) = known.max_by_key(|s| s.read) {
            let factor = if usual.read { 1.0 } else { 0.6 };
            Finding::new(factor, format!("{} rpm is a usual speed", plain(rpm)))
        } else if alone && rpm % 5.0 == 0.0 && slips_much(Rpm(rpm)) {
            let series: Vec<f64> = trade::plate_speeds().iter().map(|s| s.rpm.0).collect();
            let near = listed(&nearest(&series, rpm));
            Finding::new(
                0.15,
                format!(
                    "{} rpm is no usual speed; near it are {near} rpm",
                    plain(rpm)
                ),
            )
        } else if rpm % 5.0 == 0.0 {
            Finding::new(0.35, format!("{} rpm is a possible speed", plain(rpm)))
        } else if at_60 && small && motor.candidate(Field::Hertz).is_some() {
            Finding::new(
                0.15,
                format!(
                    "{} rpm: plates of small 60 Hz motors print speeds in steps of 5",
                    plain(rpm)
                ),
            )
        } else {
            Finding::new(0.3, format!("{} rpm is a possible speed", plain(rpm)))
        };
        worst = Some(match worst {
            Some(known) => known.worse(finding),
            None => finding,
        });
    }
    worst
}

/// A table with a row for each frequency has a speed for each; `50/60 Hz` of one rating may have one.
fn speed_rows(motor: &Motor) -> Option<Finding> {
    let rows = motor.printed(Field::Hertz)?.trim();
    let hertz = motor.numbers(Field::Hertz);
    let several = hertz.iter().any(|h| *h != hertz[0]);
    let &[rpm] = motor.numbers(Field::Rpm) else {
        return None;
    };
    (several && rows.contains(char::is_whitespace)).then(|| {
        Finding::new(
            0.15,
            format!(
                "{} rpm is the only speed beside rows at {} Hz",
                plain(rpm),
                listed(hertz)
            ),
        )
    })
}

fn speed_taps(motor: &Motor) -> Option<Finding> {
    let speeds = motor.numbers(Field::Rpm);
    if speeds.len() < 2 {
        return None;
    }
    let highest = motor.largest(Field::Rpm)?;
    Some(match speeds.iter().find(|s| **s < highest / 8.5) {
        None => Finding::new(1.0, "the speeds are usual together"),
        Some(slow) => Finding::new(
            0.1,
            format!(
                "{} rpm is not usual beside {} rpm",
                plain(*slow),
                plain(highest)
            ),
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    /// Source: `synchronous_speeds.csv`: full-load speeds of motor speed tables and trade pages. Those marked
    /// for one kind of motor pass for that kind, the others for an ordinary plate.
    #[test]
    fn speeds_of_the_table_pass() {
        for speed in trade::plate_speeds() {
            let kind = match speed.usual_for.as_str() {
                u if u.contains("haded") || u.contains("shaded") => "phase=1 SP",
                u if u.contains("PSC") => "phase=1 PSC AO",
                u if u.contains("three-phase") => "phase=3",
                u if u.contains("large") => "phase=3 hp=100",
                _ => "",
            };
            let plate = format!("rpm={} hertz={} {kind}", speed.rpm.0, speed.hertz.0);
            check(RULES, "speed-slip", &[('+', &plate)]);
            check(RULES, "speed-series", &[('+', &plate)]);
        }
    }

    #[test]
    fn slips() {
        check(
            RULES,
            "speed-slip",
            &[
                ('+', "rpm=1725 hertz=60 phase=1 hp=1/2"),
                ('+', "rpm=1725 hertz=60 phase=3 hp=1"),
                ('+', "rpm=3450 hertz=60"),
                ('+', "rpm=1425 hertz=50/60"),
                ('+', "rpm=1435/1735 hertz=50/60 phase=3 kw=1.1"),
                ('+', "rpm=1735/1435 hertz=50/60 phase=3 kw=1.1"),
                ('+', "rpm=300-1200 hertz=50/60 phase=1 hp=1/2"),
                ('+', "rpm=1390 hertz=50 phase=3 kw=0.37"),
                ('+', "rpm=1400 hertz=50 phase=3 kw=1.1"),
                ('+', "rpm=1735 hertz=60 phase=3 hp=10"),
                ('+', "rpm=1765 hertz=60 phase=3 hp=40"),
                ('+', "rpm=1800 hertz=60 phase=3 hp=5"),
                ('+', "rpm=1075 hertz=60 phase=1 PSC AO"),
                ('+', "rpm=1550/1320/1000 hertz=60 SP"),
                ('+', "rpm=1725/850 hertz=60 phase=3 hp=5/1"),
                ('-', "rpm=1275 hertz=60 phase=1 hp=1/3 service_factor=1.35"),
                ('-', "rpm=1275"),
                ('-', "rpm=4350 hertz=60"),
                ('-', "rpm=3450 hertz=50"),
                ('-', "rpm=1850 hertz=60 phase=3 hp=5"),
                ('-', "rpm=1410 hertz=60 phase=3 hp=3"),
                ('-', "rpm=1610 hertz=60 phase=3 hp=3"),
                ('-', "rpm=1410 hertz=60 phase=1 hp=1/2 kva_code=K"),
                ('-', "rpm=1735/1725 hertz=60/50 phase=3 hp=2"),
                ('-', "rpm=258 hertz=60"),
                ('-', "rpm=1750 hertz=60 phase=1 PSC AO"),
                ('-', "rpm=3455 hertz=60 phase=3 hp=25"),
                ('-', "rpm=17 hertz=60"),
            ],
        );
        check(
            RULES,
            "speed-rows",
            &[
                ('+', "rpm=1435_1435_1735 hertz=50_50_60"),
                ('+', "rpm=1050 hertz=50/60"),
                ('-', "rpm=1435 hertz=50_50_60"),
            ],
        );
        check(
            RULES,
            "speed-taps",
            &[
                ('+', "rpm=1725/1140"),
                ('+', "rpm=3450/1725"),
                ('-', "rpm=1725/114"),
            ],
        );
        check(
            RULES,
            "speed-series",
            &[
                ('-', "rpm=804 hertz=60 hp=1/4"),
                ('-', "rpm=1728 hertz=60 hp=1/4"),
                ('-', "rpm=1010 hertz=60 hp=1/4 phase=1 PSC AO"),
                ('+', "rpm=1100/1010/900 hertz=60 hp=1/4 phase=1 PSC AO"),
                ('+', "rpm=1768 hertz=60 hp=20"),
                ('+', "rpm=1428 hertz=50 kw=0.37"),
            ],
        );
        let (_, message) = finding(&RULES[0], "rpm=1845 hertz=60 phase=3").expect("a finding");
        assert_eq!(
            message,
            "1845 rpm is above 1800 rpm (4 poles at 60 Hz), which no induction motor reaches"
        );
        let (_, message) = finding(&RULES[0], "rpm=1275 hertz=60 phase=1").expect("a finding");
        assert_eq!(
            message,
            "1275 rpm is 29.2 % below 1800 rpm (4 poles at 60 Hz); usual is up to 17 %"
        );
    }
}
