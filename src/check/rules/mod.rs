//! The plausibility rules, by idea. Each is one function; its table test has rows that pass, from published
//! tables, and rows that must not.

mod capacitor;
mod current;
mod efficiency;
mod frame;
mod letters;
mod power;
mod service;
mod speed;
mod voltage;

use super::rule::Rule;

/// All rules.
pub(super) fn all() -> impl Iterator<Item = &'static Rule> {
    [
        voltage::RULES,
        power::RULES,
        current::RULES,
        speed::RULES,
        service::RULES,
        frame::RULES,
        efficiency::RULES,
        capacitor::RULES,
        letters::RULES,
    ]
    .into_iter()
    .flatten()
}

#[cfg(test)]
pub(super) mod testing {
    //! Motors for the table tests of the rules.

    use super::super::motor::{Marks, Motor, Slot};
    use super::super::rule::{DOUBT, Rule};
    use crate::plate::Candidate;
    use crate::record::{Field, notation};

    /// A plate: `volts=230 amps=6.8 hp=1/2`, `_` for a blank inside a value; `AO`, `PSC`, `SP`, `WORN` are marks.
    pub fn candidates(plate: &str) -> (Vec<(Field, Candidate)>, Marks) {
        let mut marks = Marks::default();
        let mut fields = Vec::new();
        for item in plate.split_whitespace() {
            match item.split_once('=') {
                Some((key, printed)) => {
                    let field = Field::from_key(key).expect(key);
                    let printed = printed.replace('_', " ");
                    let value = notation::parse(field, &printed).expect(item);
                    fields.push((
                        field,
                        Candidate {
                            printed,
                            value,
                            probability: 1.0,
                        },
                    ));
                }
                None if item == "AO" => marks.air_over = true,
                None if item == "PSC" => {
                    marks.run_capacitor = true;
                    marks.single_phase_type = true;
                }
                None if item == "SP" => {
                    marks.shaded_pole = true;
                    marks.single_phase_type = true;
                }
                None if item == "WORN" => marks.worn = true,
                None => {
                    marks.locked_rotor = item.strip_prefix("LRA:").map(|n| n.parse().expect(item))
                }
            }
        }
        marks.run_capacitor |= fields.iter().any(|f| f.0 == Field::CapacitorUf);
        (fields, marks)
    }

    /// What `rule` says of a plate: its factor and message, `None` when nothing.
    pub fn finding(rule: &Rule, plate: &str) -> Option<(f64, String)> {
        let (fields, marks) = candidates(plate);
        let mut motor = Motor::new(&marks);
        for (field, candidate) in &fields {
            motor.set(*field, Slot::Read(candidate));
        }
        rule.find(&motor).map(|f| (f.factor, f.message))
    }

    /// Checks every row: `+` plates the rule must not doubt, `-` plates it must.
    pub fn check(rules: &[Rule], name: &str, rows: &[(char, &str)]) {
        let rule = rules.iter().find(|r| r.name == name).expect(name);
        let mut wrong = Vec::new();
        for (sign, plate) in rows {
            let found = finding(rule, plate);
            let doubts = found.as_ref().is_some_and(|f| f.0 < DOUBT);
            if doubts != (*sign == '-') {
                wrong.push(format!("{sign} {plate}: {found:?}"));
            }
        }
        assert!(wrong.is_empty(), "{name}\n{}", wrong.join("\n"));
    }
}
