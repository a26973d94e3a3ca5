//! Frame: whether there is such a one, and whether motors of that power are built in it.

use super::super::motor::Motor;
use super::super::rule::{Finding, Rule, within};
use crate::record::Field;
use crate::trade;
use crate::units::plain;

pub(super) const RULES: &[Rule] = &[
    Rule {
        name: "frame-known",
        source: "NEMA MG 1 4.4.1 and IEC 60072-1 frames; suffix letters NEMA MG 1 4.2.2; nominal efficiencies NEMA MG 1 12.58",
        needs: &[Field::Frame],
        uses: &[Field::NominalEfficiency],
        judge: known,
    },
    Rule {
        name: "frame-power",
        source: "NEMA MG 1 Part 13 frame assignments and IEC outputs, widened; a hint only",
        needs: &[Field::Frame],
        uses: &[Field::Hp, Field::Kw],
        judge: power,
    },
];

/// What a frame designation consists of.
#[derive(Debug, PartialEq)]
pub(super) enum Designation {
    Nema { number: String },
    Iec { height: u16 },
    Unknown,
}

/// Letters before the number (`L145T`, `D56C`) and behind it.
const PREFIX_MOST: usize = 2;

/// Suffix letters in use (NEMA MG 1 4.2.2 and makers' Y and Z).
const SUFFIX: &str = "ABCDEFGHJKLMNPRSTUVWXYZ";

pub(super) fn designation(frame: &str) -> Designation {
    let text: String = frame
        .chars()
        .filter(|c| c.is_ascii_alphanumeric())
        .collect::<String>()
        .to_ascii_uppercase();
    let start = text
        .find(|c: char| c.is_ascii_digit())
        .unwrap_or(text.len());
    let (prefix, rest) = text.split_at(start);
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let (number, suffix) = rest.split_at(end);
    // `90L-4` counts poles behind the letter: the digits there are no part of the frame.
    let letters = suffix.trim_end_matches(|c: char| c.is_ascii_digit());
    if prefix.len() > PREFIX_MOST
        || letters.len() > 4
        || !letters.chars().all(|c| SUFFIX.contains(c))
    {
        return Designation::Unknown;
    }
    let iec_letter = matches!(letters.chars().next(), Some('S' | 'M' | 'L'));
    let iec = number
        .parse()
        .ok()
        .filter(|h| trade::iec_heights().contains(h));
    let nema = trade::is_nema_number(number).then(|| number.to_owned());
    match (nema, iec) {
        (_, Some(height)) if iec_letter => Designation::Iec { height },
        (Some(number), _) => Designation::Nema { number },
        (None, Some(height)) => Designation::Iec { height },
        (None, None) => Designation::Unknown,
    }
}

fn known(motor: &Motor) -> Option<Finding> {
    let frame = motor.text(Field::Frame)?;
    Some(match designation(frame) {
        Designation::Nema { number } => {
            // Three digits without a suffix belong to the time before 1964, nominal efficiencies to the time after.
            let old = number.len() == 3 && frame.chars().last().is_some_and(|c| c.is_ascii_digit());
            let metric = number
                .parse()
                .is_ok_and(|h| trade::iec_heights().contains(&h));
            if old && !metric && motor.candidate(Field::NominalEfficiency).is_some() {
                return Some(Finding::new(
                    0.1,
                    format!(
                        "frame {frame} is older than the nominal efficiency on its plate; a letter behind it, as T, may be worn away"
                    ),
                ));
            }
            let factor = if old { 0.5 } else { 1.0 };
            Finding::new(factor, format!("frame {frame} is in the table"))
        }
        Designation::Iec { .. } => Finding::new(1.0, format!("frame {frame} is an IEC frame")),
        Designation::Unknown => Finding::new(
            0.04,
            format!("there is no frame {frame} in the tables of NEMA and IEC"),
        ),
    })
}

/// Lowest and highest power, hp, of each series of frames (NEMA MG 1 Part 13 for three digits, common
/// practice for two; IEC outputs in hp).
fn usual_power(designation: &Designation) -> Option<(f64, f64)> {
    Some(match designation {
        Designation::Nema { number } => match &number[..2] {
            "42" => (0.01, 0.5),
            "48" => (0.02, 1.5),
            "56" => (0.08, 5.0),
            "66" => (0.5, 7.5),
            "14" => (0.33, 5.0),
            "18" => (0.5, 10.0),
            "20" | "21" | "22" => (0.75, 20.0),
            "25" => (1.5, 30.0),
            "28" => (3.0, 60.0),
            "32" => (5.0, 100.0),
            "36" => (7.5, 150.0),
            "40" => (10.0, 250.0),
            _ => (15.0, 700.0),
        },
        Designation::Iec { height } => match *height {
            56 => (0.04, 0.35),
            63 => (0.08, 0.75),
            71 => (0.12, 1.5),
            80 => (0.25, 3.0),
            90 => (0.33, 4.5),
            100 => (0.75, 7.5),
            112 => (1.0, 10.0),
            132 => (1.5, 20.0),
            160 => (3.0, 40.0),
            180 => (7.5, 60.0),
            200 => (10.0, 75.0),
            225 => (15.0, 100.0),
            250 => (20.0, 125.0),
            280 => (30.0, 200.0),
            _ => (40.0, 400.0),
        },
        Designation::Unknown => return None,
    })
}

fn power(motor: &Motor) -> Option<Finding> {
    let frame = motor.text(Field::Frame)?;
    let hp = motor.power()?.0;
    let (low, high) = usual_power(&designation(frame))?;
    let factor = within(hp, low, high).max(0.1);
    Some(Finding::new(
        factor,
        format!(
            "{} hp in frame {frame}; usual is {} to {} hp",
            plain(hp),
            plain(low),
            plain(high)
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::super::testing::check;
    use super::*;

    #[test]
    fn frames() {
        check(
            RULES,
            "frame-known",
            &[
                ('+', "frame=184T"),
                ('+', "frame=143TC"),
                ('+', "frame=56"),
                ('+', "frame=56HCY"),
                ('+', "frame=48Y"),
                ('+', "frame=48YZ"),
                ('+', "frame=L145T"),
                ('+', "frame=D56C"),
                ('+', "frame=286TS"),
                ('+', "frame=254U"),
                ('+', "frame=184"),
                ('+', "frame=184T nominal_efficiency=89.5"),
                ('+', "frame=132 nominal_efficiency=89.5"),
                ('-', "frame=184 nominal_efficiency=89.5"),
                ('+', "frame=90L"),
                ('+', "frame=132S"),
                ('+', "frame=100L-4"),
                ('+', "frame=145JM"),
                ('+', "frame=56J"),
                ('+', "frame=324TSC"),
                ('+', "frame=80M"),
                ('+', "frame=71"),
                ('+', "frame=405TSD"),
                ('-', "frame=183T"),
                ('-', "frame=144T"),
                ('-', "frame=214T"),
                ('-', "frame=255T"),
                ('-', "frame=95S"),
                ('-', "frame=I84T"),
                ('-', "frame=18AT"),
                ('-', "frame=T"),
            ],
        );
    }

    /// Source: NEMA MG 1 Part 13 (Tables 13-2 and 13-3) for the three-digit rows.
    #[test]
    fn frames_and_powers() {
        check(
            RULES,
            "frame-power",
            &[
                ('+', "frame=143T hp=1"),
                ('+', "frame=145T hp=3"),
                ('+', "frame=182T hp=5"),
                ('+', "frame=184T hp=7.5"),
                ('+', "frame=215T hp=15"),
                ('+', "frame=256T hp=25"),
                ('+', "frame=286T hp=10"),
                ('+', "frame=445T hp=150"),
                ('+', "frame=48Y hp=1/8"),
                ('+', "frame=56 hp=2"),
                ('+', "frame=56H hp=3"),
                ('+', "frame=90L kw=1.5"),
                ('+', "frame=63M kw=0.12"),
                ('+', "frame=160L kw=15"),
                ('-', "frame=48Y hp=5"),
                ('-', "frame=56 hp=20"),
                ('-', "frame=143T hp=50"),
                ('-', "frame=445T hp=1"),
                ('-', "frame=90L kw=15"),
            ],
        );
    }
}
