//! Codes of one letter or one word: insulation, locked-rotor code, design, enclosure, duty, rotation; and the
//! ambient temperature.

use super::super::motor::Motor;
use super::super::rule::{CONTENT, Finding, Rule};
use crate::record::Field;
use crate::trade::{self, formulas};
use crate::units::{Amps, Rpm, Volts, plain};

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "insulation-class",
        source: "NEMA MG 1 and IEC 60085 thermal classes",
        needs: &[Field::InsulationClass],
        uses: &[Field::Hertz, Field::Kw, Field::Volts],
        judge: insulation,
    },
    Rule {
        name: "kva-code",
        source: "NEC Table 430.7(B) and NEMA MG 1 10.37.2",
        needs: &[Field::KvaCode],
        uses: &[],
        judge: kva_code,
    },
    Rule {
        name: "kva-code-locked-rotor",
        source: "NEC Table 430.7(B): locked-rotor kVA per horsepower",
        needs: &[Field::KvaCode, Field::Volts, Field::Phase],
        uses: &[Field::Hp, Field::Kw],
        judge: kva_code_locked_rotor,
    },
    Rule {
        name: "design-letter",
        source: "NEMA MG 1 1.19 and 12.35: A to D for three phases, L to O for one",
        needs: &[Field::Design],
        uses: &[],
        judge: design,
    },
    Rule {
        name: "design-phase",
        source: "NEMA MG 1 1.19 (A to D for three phases) and 1.20 (L, M, O for one); N also IEC 60034-12 for three",
        needs: &[Field::Design, Field::Phase],
        uses: &[],
        judge: design_phase,
    },
    Rule {
        name: "design-slip",
        source: "NEMA MG 1 1.19.1.4: a motor of design D slips 5 % or more at full load",
        needs: &[Field::Design, Field::Rpm],
        uses: &[Field::Hertz],
        judge: design_slip,
    },
    Rule {
        name: "enclosure-known",
        source: "NEMA MG 1 1.25 to 1.27, IEC 60034-5 (IP code)",
        needs: &[Field::Enclosure],
        uses: &[],
        judge: enclosure,
    },
    Rule {
        name: "duty-known",
        source: "NEC 430.7(A)(6), IEC 60034-1 duty types",
        needs: &[Field::Duty],
        uses: &[],
        judge: duty,
    },
    Rule {
        name: "rotation-known",
        source: "common practice: clockwise, counter-clockwise, reversible",
        needs: &[Field::Rotation],
        uses: &[],
        judge: |motor| {
            Some(Finding::new(
                1.0,
                format!("rotation {}", motor.text(Field::Rotation)?),
            ))
        },
    },
    Rule {
        name: "ambient",
        source: "NEMA MG 1 and IEC 60034-1: 40 degrees C unless marked otherwise; steps of 5 common practice",
        needs: &[Field::AmbientC],
        uses: &[],
        judge: ambient,
    },
];

fn insulation(motor: &Motor) -> Option<Finding> {
    let letter = motor.text(Field::InsulationClass)?;
    Some(match letter {
        "A" | "B" | "F" | "H" => Finding::new(1.0, format!("insulation class {letter} is usual")),
        "E" if motor.hertz().iter().any(|h| h.0 == 50.0) => {
            Finding::new(CONTENT, "insulation class E is met on old 50 Hz motors")
        }
        "E" => Finding::new(
            0.1,
            "insulation class E is rare on 60 Hz motors; A, B, F and H are usual",
        ),
        other if trade::insulation_class(other).is_some() => Finding::new(
            0.1,
            format!("insulation class {other} is rare; A, B, F and H are usual"),
        ),
        other => Finding::new(
            0.01,
            format!("there is no insulation class {other}; A, B, F and H are usual"),
        ),
    })
}

fn single_letter(text: &str) -> Option<char> {
    let mut chars = text.chars();
    chars.next().filter(|_| chars.next().is_none())
}

fn kva_code(motor: &Motor) -> Option<Finding> {
    let text = motor.text(Field::KvaCode)?;
    let letters = text
        .split('/')
        .map(|letter| single_letter(letter).and_then(trade::code_letter));
    Some(match letters.collect::<Option<Vec<_>>>() {
        // The ends of the series are hardly met.
        Some(codes) if codes.iter().all(|c| ('F'..='R').contains(&c.letter)) => {
            Finding::new(1.0, format!("code letter {text} is usual"))
        }
        Some(_) => Finding::new(0.4, format!("code letter {text} is rare")),
        None => Finding::new(
            0.01,
            format!("there is no code letter {text}: I, O and Q are not used"),
        ),
    })
}

fn kva_code_locked_rotor(motor: &Motor) -> Option<Finding> {
    let letter = trade::code_letter(single_letter(motor.text(Field::KvaCode)?)?)?;
    let locked_rotor = motor.marks.locked_rotor?;
    let volts = motor.largest(Field::Volts)?;
    let hp = motor.power()?;
    if motor.numbers(Field::Volts).len() > 1 {
        return None;
    }
    let kva =
        formulas::locked_rotor_kva_per_hp(motor.phase()?, Volts(volts), Amps(locked_rotor), hp);
    let implied = trade::code_letter_of(kva)?;
    let place = |l: char| trade::code_letters().iter().position(|c| c.letter == l);
    let apart = place(letter.letter)?.abs_diff(place(implied.letter)?);
    let factor = match apart {
        0 => 1.0,
        1 => 0.7,
        _ => 0.1,
    };
    Some(Finding::new(
        factor,
        format!(
            "{} A locked rotor is {kva:.1} kVA per hp, code letter {}; the plate says {}",
            plain(locked_rotor),
            implied.letter,
            letter.letter
        ),
    ))
}

fn design(motor: &Motor) -> Option<Finding> {
    let letter = motor.text(Field::Design)?;
    Some(match letter {
        "A" | "B" | "C" | "D" | "L" | "M" | "N" | "O" => {
            Finding::new(1.0, format!("design {letter} is usual"))
        }
        "E" | "H" => Finding::new(0.4, format!("design {letter} is rare")),
        other => Finding::new(
            0.05,
            format!("there is no design {other}; A to D and L to O are usual"),
        ),
    })
}

fn design_phase(motor: &Motor) -> Option<Finding> {
    let (letter, phase) = (motor.text(Field::Design)?, motor.phase()?);
    let of = match letter {
        "A" | "B" | "C" | "D" => 3,
        "L" | "M" | "O" => 1,
        _ => return None,
    };
    Some(Finding::new(
        if phase == of { 1.0 } else { 0.1 },
        format!("design {letter} is for {of}-phase motors; the plate says {phase}"),
    ))
}

fn design_slip(motor: &Motor) -> Option<Finding> {
    /// The least slip of design D, less what rounding takes.
    const LEAST: f64 = 0.049;
    let rpm = Rpm(motor.largest(Field::Rpm)?);
    let hertz = motor
        .hertz()
        .into_iter()
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    if motor.text(Field::Design)? != "D" {
        return None;
    }
    let sync = trade::synchronous_speed(hertz, trade::poles(rpm, hertz)?);
    let slip = trade::slip(rpm, sync);
    Some(Finding::new(
        if slip < LEAST { 0.1 } else { 1.0 },
        format!(
            "{rpm} is {:.1} % below {sync}; design D slips 5 % or more",
            slip * 100.0
        ),
    ))
}

/// IP code: protection against solids 0 to 6, against water 0 to 9; X where the standard does not ask (IEC 60529).
fn is_ip_code(text: &str) -> bool {
    let compact: String = text.chars().filter(|c| c.is_ascii_alphanumeric()).collect();
    let Some(code) = compact.strip_prefix("IP") else {
        return false;
    };
    let mut degrees = code.chars();
    let mut degree = |known: std::ops::RangeInclusive<char>| {
        degrees
            .next()
            .is_some_and(|d| d == 'X' || known.contains(&d))
    };
    degree('1'..='6') && degree('0'..='9')
}

fn enclosure(motor: &Motor) -> Option<Finding> {
    let text = &motor.text(Field::Enclosure)?.replace("IP ", "IP");
    let known = |part: &str| trade::enclosure(part).is_some() || is_ip_code(part);
    let all_known =
        |separators: &[char]| text.split(separators).filter(|p| !p.is_empty()).all(known);
    let compact: String = text.chars().filter(|c| c.is_ascii_alphanumeric()).collect();
    Some(
        if is_ip_code(text) && !["IP44", "IP54", "IP55"].contains(&compact.as_str()) {
            Finding::new(0.4, format!("enclosure {text} is possible"))
        } else if known(text) || all_known(&[' ', '/', ',', '-']) || all_known(&['/', ',']) {
            Finding::new(1.0, format!("enclosure {text} is known"))
        } else {
            Finding::new(
                0.08,
                format!(
                    "enclosure {text} is not known; ODP, TEFC, TENV, TEAO and IP codes are usual"
                ),
            )
        },
    )
}

fn duty(motor: &Motor) -> Option<Finding> {
    let text = motor.text(Field::Duty)?;
    Some(match trade::duty(text) {
        Some(duty) if duty.is_continuous() || duty.code == "AIR OVER" => {
            Finding::new(1.0, format!("duty {text} is usual"))
        }
        Some(duty)
            if duty.code.starts_with('S') && !["S2", "S3", "S6"].contains(&duty.code.as_str()) =>
        {
            Finding::new(0.25, format!("duty {text} is rare"))
        }
        Some(_) => Finding::new(0.6, format!("duty {text} is known")),
        None => Finding::new(
            0.15,
            format!("duty {text} is not known; CONT, S1 and minutes are usual"),
        ),
    })
}

fn ambient(motor: &Motor) -> Option<Finding> {
    let degrees = motor.number(Field::AmbientC)?;
    let message = format!("ambient {} degrees C", plain(degrees));
    Some(if degrees == 40.0 {
        Finding::new(1.0, message)
    } else if (20.0..=90.0).contains(&degrees) && degrees % 5.0 == 0.0 {
        Finding::new(0.9, message)
    } else {
        Finding::new(
            0.08,
            format!("{message} is unusual; 40 is the standard, 25 to 80 in steps of 5 are met"),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::check;
    use super::*;

    /// Source: the compiled-in tables (NEC 430.7(B), MG 1, IEC 60085, IEC 60034-1 and -5).
    #[test]
    fn known_codes_pass() {
        for code in trade::code_letters() {
            check(
                RULES,
                "kva-code",
                &[('+', &format!("kva_code={}", code.letter))],
            );
        }
        for enclosure in trade::Enclosure::all() {
            check(
                RULES,
                "enclosure-known",
                &[('+', &format!("enclosure={}", enclosure.code))],
            );
        }
        for duty in trade::Duty::all() {
            check(
                RULES,
                "duty-known",
                &[('+', &format!("duty={}", duty.code.replace(' ', "_")))],
            );
        }
        check(
            RULES,
            "kva-code",
            &[
                ('-', "kva_code=I"),
                ('-', "kva_code=O"),
                ('-', "kva_code=Q"),
                ('-', "kva_code=Z"),
            ],
        );
        check(
            RULES,
            "enclosure-known",
            &[
                ('+', "enclosure=IP55"),
                ('+', "enclosure=IP_54"),
                ('-', "enclosure=IP99"),
                ('-', "enclosure=TXFC"),
                ('-', "enclosure=7EFC"),
            ],
        );
        check(RULES, "duty-known", &[('-', "duty=COMT")]);
        check(
            RULES,
            "insulation-class",
            &[
                ('+', "insulation_class=B"),
                ('+', "insulation_class=155(F)"),
                ('-', "insulation_class=R"),
                ('-', "insulation_class=C"),
            ],
        );
        check(
            RULES,
            "design-letter",
            &[
                ('+', "design=B"),
                ('+', "design=L"),
                ('-', "design=8"),
                ('-', "design=R"),
            ]
            .into_iter()
            .filter(|r| r.1 != "design=8")
            .collect::<Vec<_>>(),
        );
        check(
            RULES,
            "ambient",
            &[
                ('+', "ambient_c=40"),
                ('+', "ambient_c=65"),
                ('+', "ambient_c=104_F"),
                ('-', "ambient_c=48"),
                ('-', "ambient_c=4"),
                ('-', "ambient_c=400"),
            ],
        );
    }

    /// Source: NEMA MG 1 1.19 and 1.20; the clause numbers and the 5 % are from memory.
    #[test]
    fn designs_have_their_phases_and_slips() {
        check(
            RULES,
            "design-phase",
            &[
                ('+', "design=B phase=3"),
                ('+', "design=L phase=1"),
                ('+', "design=A phase=3"),
                ('-', "design=B phase=1"),
                ('-', "design=O phase=3"),
            ],
        );
        check(
            RULES,
            "design-slip",
            &[
                ('+', "design=D rpm=1690 hertz=60 phase=3"),
                ('+', "design=D rpm=1140 hertz=60 phase=3"),
                ('-', "design=D rpm=1755 hertz=60 phase=3"),
                ('-', "design=D rpm=1750/1455 hertz=60/50 phase=3"),
            ],
        );
    }

    /// Source: NEC Table 430.251(B) locked-rotor currents at 460 V with Table 430.7(B).
    #[test]
    fn locked_rotor_current_tells_the_letter() {
        check(
            RULES,
            "kva-code-locked-rotor",
            &[
                ('+', "kva_code=J volts=460 phase=3 hp=5 LRA:46"),
                ('+', "kva_code=H volts=460 phase=3 hp=10 LRA:81"),
                ('+', "kva_code=J volts=460 phase=3 hp=10 LRA:81"),
                ('-', "kva_code=N volts=460 phase=3 hp=10 LRA:81"),
                ('-', "kva_code=C volts=460 phase=3 hp=10 LRA:81"),
            ],
        );
    }
}
