//! Service factor, and the current that goes with it.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, listed, nearest, within};
use crate::record::Field;
use crate::trade;
use crate::units::plain;

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "service-factor-series",
        source: "NEMA MG 1 12.51 and values met on plates (common practice)",
        needs: &[Field::ServiceFactor],
        uses: &[Field::Hp, Field::Kw],
        judge: series,
    },
    Rule {
        name: "service-factor-enclosure",
        source: "NEMA MG 1 12.51: totally enclosed 1.0 (many print 1.15); common practice for air-over motors",
        needs: &[Field::ServiceFactor, Field::Enclosure],
        uses: &[],
        judge: enclosure,
    },
    Rule {
        name: "service-factor-amps",
        source: "common practice: never below full-load amps, equal at service factor 1.0",
        needs: &[Field::ServiceFactorAmps, Field::Amps],
        uses: &[Field::ServiceFactor],
        judge: amps,
    },
];

fn series(motor: &Motor) -> Option<Finding> {
    let mut worst = Finding::new(1.0, "the service factor is a usual one");
    for &sf in motor.numbers(Field::ServiceFactor) {
        let usual = trade::service_factors_on_plates();
        let in_steps = ((sf * 20.0).round() - sf * 20.0).abs() < 1e-6;
        let hp = motor.power().map(|p| p.0);
        let is = |list: &[f64]| list.iter().any(|u| (u - sf).abs() < 1e-6);
        worst = worst.worse(if sf > 1.26 && sf <= 2.0 && hp.is_some_and(|hp| hp > 4.0) {
            Finding::new(
                0.12,
                format!(
                    "service factor {} is unusual from 5 hp up; 1.0 and 1.15 are usual",
                    plain(sf)
                ),
            )
        } else if is(&[1.0, 1.15, 1.25]) {
            Finding::new(
                1.0,
                format!("service factor {} is the usual one", plain(sf)),
            )
        } else if is(&[1.35, 1.4]) && hp.is_none_or(|hp| hp < 0.8) {
            Finding::new(
                0.8,
                format!(
                    "service factor {} is a usual one of small motors",
                    plain(sf)
                ),
            )
        } else if is(usual) {
            Finding::new(
                0.35,
                format!("service factor {} is met on plates", plain(sf)),
            )
        } else if (1.0..=2.0).contains(&sf) && in_steps {
            Finding::new(0.25, format!("service factor {} is possible", plain(sf)))
        } else if (1.0..=2.0).contains(&sf) {
            Finding::new(
                0.03,
                format!(
                    "service factor {} is no usual one; near it are {}",
                    plain(sf),
                    listed(&nearest(usual, sf))
                ),
            )
        } else {
            Finding::new(
                0.004,
                format!(
                    "service factor {} is not possible; plates print 1.0 to 1.8",
                    plain(sf)
                ),
            )
        });
    }
    Some(worst)
}

fn enclosure(motor: &Motor) -> Option<Finding> {
    let sf = motor.largest(Field::ServiceFactor)?;
    let enclosure = trade::enclosure(motor.text(Field::Enclosure)?)?;
    let message = format!(
        "service factor {} with enclosure {}",
        plain(sf),
        enclosure.code
    );
    let most = if enclosure.is_air_over() {
        1.25
    } else if enclosure.is_enclosed() {
        1.4
    } else {
        2.0
    };
    let factor = if sf <= most { 1.0 } else { 0.15 };
    Some(Finding::new(
        factor,
        if factor < 1.0 {
            format!("{message} is unusual: at most {most} is expected")
        } else {
            message
        },
    ))
}

fn amps(motor: &Motor) -> Option<Finding> {
    let (sfa, fla) = (
        motor.numbers(Field::ServiceFactorAmps),
        motor.numbers(Field::Amps),
    );
    let sf = motor.largest(Field::ServiceFactor);
    // Several currents compare one to one; otherwise the highest of each.
    let pairs: Vec<(f64, f64)> = if sfa.len() == fla.len() {
        sfa.iter().copied().zip(fla.iter().copied()).collect()
    } else if let &[sfa] = sfa {
        // One of several voltages, `SFA @460 1.8` beside `3.2-3.0/1.5`, is for the current that it is nearest to.
        let away = |fla: &f64| (sfa / fla).ln().abs();
        let nearest = fla.iter().copied().filter(|fla| *fla > 0.0);
        vec![(sfa, nearest.min_by(|a, b| away(a).total_cmp(&away(b)))?)]
    } else {
        vec![(
            motor.largest(Field::ServiceFactorAmps)?,
            motor.largest(Field::Amps)?,
        )]
    };
    let mut worst: Option<Finding> = None;
    for (sfa, fla) in pairs.into_iter().filter(|p| p.1 > 0.0) {
        // Magnetising current does not grow with the load, saturation makes up for some of it.
        let high = match sf {
            Some(sf) if (1.0..1.001).contains(&sf) => 1.05,
            Some(sf) if (1.0..=2.0).contains(&sf) => 1.12 * sf,
            _ => 1.7,
        };
        // Small currents are printed with few digits.
        let room = (0.06 / fla).min(0.3);
        let factor = within(sfa / fla, 0.99 - room, high + room).powi(4);
        let finding = Finding::new(
            factor,
            format!(
                "{} A at the service factor{} stands beside {} A full load; {} to {} A is expected",
                plain(sfa),
                sf.map_or_else(String::new, |s| format!(" {}", plain(s))),
                plain(fla),
                plain(fla),
                plain((fla * high * 10.0).round() / 10.0)
            ),
        );
        worst = Some(match worst {
            Some(known) => known.worse(finding),
            None => finding,
        });
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check, finding};
    use super::*;

    /// Source: NEMA MG 1 12.51 for the rows up to 1.4; 1.5 and above common practice.
    #[test]
    fn factors() {
        check(
            RULES,
            "service-factor-series",
            &[
                ('+', "service_factor=1.0"),
                ('+', "service_factor=1.15"),
                ('+', "service_factor=1.25"),
                ('+', "service_factor=1.35"),
                ('+', "service_factor=1.4"),
                ('+', "service_factor=1.65"),
                ('+', "service_factor=1.05"),
                ('+', "service_factor=1"),
                ('+', "service_factor=1.65 hp=1"),
                ('-', "service_factor=1.75 hp=25"),
                ('-', "service_factor=11.5"),
                ('-', "service_factor=1.51"),
                ('-', "service_factor=115"),
                ('-', "service_factor=0.15"),
                ('-', "service_factor=1.16"),
            ],
        );
        check(
            RULES,
            "service-factor-enclosure",
            &[
                ('+', "service_factor=1.15 enclosure=TEFC"),
                ('+', "service_factor=1.0 enclosure=TEAO"),
                ('+', "service_factor=1.35 enclosure=ODP"),
                ('+', "service_factor=1.15 enclosure=OAO"),
                ('+', "service_factor=1.65 enclosure=ODP"),
                ('-', "service_factor=1.65 enclosure=TEFC"),
                ('-', "service_factor=1.4 enclosure=TEAO"),
            ],
        );
        let (_, message) = finding(&RULES[0], "service_factor=1.51").expect("a finding");
        assert_eq!(
            message,
            "service factor 1.51 is no usual one; near it are 1.5 and 1.6"
        );
    }

    #[test]
    fn service_factor_amps() {
        check(
            RULES,
            "service-factor-amps",
            &[
                (
                    '+',
                    "service_factor_amps=5.6-5.1 amps=5.2-4.8 service_factor=1.15",
                ),
                (
                    '+',
                    "service_factor_amps=8.5/4.5-4.3 amps=7.0/3.7-3.5 service_factor=1.35",
                ),
                ('+', "service_factor_amps=2.4 amps=2.1 service_factor=1.15"),
                ('+', "service_factor_amps=6.4 amps=6.4 service_factor=1.0"),
                ('+', "service_factor_amps=.5 amps=.5 service_factor=1.15"),
                (
                    '+',
                    "service_factor_amps=15.4 amps=13.6-12.5/6.2 service_factor=1.15",
                ),
                ('-', "service_factor_amps=5.2 amps=6.4 service_factor=1.15"),
                ('-', "service_factor_amps=64 amps=5.6 service_factor=1.15"),
                ('-', "service_factor_amps=7.4 amps=5.6 service_factor=1.0"),
                (
                    '-',
                    "service_factor_amps=3.0/6.0 amps=5.6/2.8 service_factor=1.15",
                ),
            ],
        );
        let (_, message) = finding(
            &RULES[2],
            "service_factor_amps=5.2 amps=6.4 service_factor=1.15",
        )
        .expect("a finding");
        assert_eq!(
            message,
            "5.2 A at the service factor 1.15 stands beside 6.4 A full load; 6.4 to 8.2 A is expected"
        );
    }
}
