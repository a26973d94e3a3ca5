//! When a rule doubts, which of the values that it bound may be the wrong one.
//!
//! A value is suspected when one misread character in it, or a decimal point lost or gained, would settle
//! every rule that binds it. When no value can be mended like that, all of them are suspected.

use super::misreading;
use super::motor::{Motor, Slot};
use super::rule::{CONTENT, Rule};
use crate::record::Field;

/// A value that may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Suspect {
    /// The field.
    pub field: Field,
    /// What would fit with the decimal point elsewhere, as it would be printed.
    pub decimal_point: Option<String>,
}

/// The suspects of every rule in `doubting`, in the same order. What would settle several rules at once is
/// likelier than several errors: then only that is suspected.
pub(super) fn all_suspects(
    motor: &Motor,
    doubting: &[&Rule],
    rules: &[&Rule],
) -> Vec<Vec<Suspect>> {
    let mut found: Vec<Vec<Suspect>> = doubting
        .iter()
        .map(|rule| suspects(motor, rule, rules))
        .collect();
    let alone = |rule: &Rule| {
        rule.fields()
            .filter(|f| motor.candidate(*f).is_some())
            .count()
            < 2
    };
    let joint: Vec<usize> = (0..doubting.len())
        .filter(|&i| !alone(doubting[i]))
        .collect();
    if let Some((&first, others)) = joint.split_first() {
        let common: Vec<Field> = found[first]
            .iter()
            .map(|s| s.field)
            .filter(|f| {
                others
                    .iter()
                    .all(|&i| found[i].iter().any(|s| s.field == *f))
            })
            .collect();
        if !common.is_empty() {
            for &i in &joint {
                found[i].retain(|s| common.contains(&s.field));
            }
        }
    }
    found
}

/// The suspects of `rule`, which doubts `motor`.
fn suspects(motor: &Motor, rule: &Rule, rules: &[&Rule]) -> Vec<Suspect> {
    let bound: Vec<Field> = rule
        .fields()
        .filter(|f| motor.candidate(*f).is_some())
        .collect();
    if let [only] = bound.as_slice() {
        let decimal_point = decimal_point(motor, *only, rules);
        return vec![Suspect {
            field: *only,
            decimal_point,
        }];
    }
    // A power that is printed in both units says the same twice: nothing tells which is the wrong one.
    let twice = bound.iter().all(|f| matches!(f, Field::Hp | Field::Kw));
    let mut found = Vec::new();
    for &field in &bound {
        let decimal_point = decimal_point(motor, field, rules);
        let printed = motor.printed(field).unwrap_or_default();
        if twice
            || decimal_point.is_some()
            || misreading::one_character(printed)
                .iter()
                .any(|e| settles(motor, field, e, rules))
        {
            found.push(Suspect {
                field,
                decimal_point,
            });
        }
    }
    // Several currents are mended by no single character, and are not cleared by that; nor is a speed by what else would
    // settle it, and where others beside it are lost.
    let listed = bound.contains(&Field::Amps) && motor.numbers(Field::Amps).len() > 1;
    let of_speed = rule.needs.first() == Some(&Field::Rpm);
    let unmended = [(Field::Amps, listed), (Field::Rpm, of_speed)];
    for (field, _) in unmended.into_iter().filter(|(_, is)| *is) {
        if !found.is_empty() && found.iter().all(|s| s.field != field) {
            found.push(Suspect {
                field,
                decimal_point: None,
            });
        }
    }
    if found.is_empty() {
        // Supply values have rules of their own; they are not blamed for what they do not explain.
        let supply = [Field::Volts, Field::Phase, Field::Hertz];
        // A power is weighed in one of two units, so that no rule needs either.
        let power = |f: &Field| matches!(f, Field::Hp | Field::Kw);
        let blamed = bound
            .iter()
            .filter(|f| rule.needs.contains(f) && !supply.contains(f) || power(f));
        found.extend(blamed.map(|&field| Suspect {
            field,
            decimal_point: None,
        }));
    }
    found
}

fn decimal_point(motor: &Motor, field: Field, rules: &[&Rule]) -> Option<String> {
    let printed = motor.printed(field)?;
    if field.is_text()
        || matches!(
            field,
            Field::Phase | Field::Hertz | Field::Volts | Field::Rpm
        )
    {
        return None;
    }
    misreading::decimal_point(printed)
        .into_iter()
        .find(|e| settles(motor, field, e, rules))
}

/// Whether every rule that binds `field` is content with `printed` in its place.
fn settles(motor: &Motor, field: Field, printed: &str, rules: &[&Rule]) -> bool {
    let Some(read) = motor.candidate(field) else {
        return false;
    };
    let Some(candidate) = misreading::changed(field, read, printed) else {
        return false;
    };
    let changed = motor.with(field, Slot::Read(&candidate));
    let binds = |rule: &&&Rule| rule.fields().any(|f| f == field);
    rules
        .iter()
        .filter(binds)
        .all(|rule| rule.find(&changed).is_none_or(|f| f.factor >= CONTENT))
}

#[cfg(test)]
mod tests {
    use super::super::rules::{self, testing};
    use super::*;

    /// The suspects of every rule that doubts a plate.
    fn suspected(plate: &str) -> Vec<(Field, Option<String>)> {
        let (fields, marks) = testing::candidates(plate);
        let mut motor = Motor::new(&marks);
        for (field, candidate) in &fields {
            motor.set(*field, Slot::Read(candidate));
        }
        let all: Vec<&Rule> = rules::all().collect();
        let mut found: Vec<(Field, Option<String>)> = Vec::new();
        for rule in &all {
            if rule
                .find(&motor)
                .is_some_and(|f| f.factor < super::super::rule::DOUBT)
            {
                for suspect in suspects(&motor, rule, &all) {
                    found.retain(|f| f.0 != suspect.field || f.1.is_some());
                    if found.iter().all(|f| f.0 != suspect.field) {
                        found.push((suspect.field, suspect.decimal_point));
                    }
                }
            }
        }
        found
    }

    #[test]
    fn a_lost_decimal_point_is_found() {
        let cases = [
            (
                "phase=1 hertz=60 volts=230 hp=1/2 amps=38",
                Field::Amps,
                "3.8",
            ),
            (
                "phase=3 hertz=60 volts=208-230/460 hp=5 amps=136-128/64",
                Field::Amps,
                "13.6-12.8/6.4",
            ),
            ("service_factor=115", Field::ServiceFactor, "1.15"),
            ("service_factor=11.5", Field::ServiceFactor, "115"),
            ("capacitor_uf=75 hp=1/4 phase=1", Field::CapacitorUf, "7.5"),
            (
                "nominal_efficiency=895 hp=5 phase=3",
                Field::NominalEfficiency,
                "89.5",
            ),
        ];
        for (plate, field, fits) in cases {
            let found = suspected(plate);
            let suggestion = found
                .iter()
                .find(|f| f.0 == field)
                .unwrap_or_else(|| panic!("{plate}: {found:?}"));
            if fits != "115" {
                assert_eq!(suggestion.1.as_deref(), Some(fits), "{plate}");
            }
        }
    }

    #[test]
    fn the_value_that_cannot_be_mended_is_not_suspected() {
        // 1 for 5 hp would fit 4 kW; that 4 is wrong is as likely.
        let found = suspected("hp=1 kw=4");
        assert_eq!(
            found.iter().map(|f| f.0).collect::<Vec<_>>(),
            [Field::Hp, Field::Kw]
        );
        // No character of 1/2, 230 or 1 makes 38 A plausible.
        let found = suspected("phase=1 hertz=60 volts=230 hp=1/2 amps=38");
        assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), [Field::Amps]);
        // A power that no character mends is suspected as well.
        let found = suspected("phase=1 hertz=50 volts=230 kw=14 amps=0.62 capacitor_uf=4");
        assert!(found.iter().any(|f| f.0 == Field::Kw), "{found:?}");
        let found = suspected("phase=3 hertz=60 volts=230/460 hp=5 amps=12.8/6.4 rpm=1275");
        assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), [Field::Rpm]);
    }
}
