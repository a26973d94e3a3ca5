//! What the codes on a plate say of its model and serial number. They were weighed with the readings
//! already; here it is told.

use crate::plate::{Plate, REPEATED, Testimony, testimony};
use crate::record::{CheckOutcome, Field, Outcome, Reading};
use std::collections::BTreeMap;

/// One outcome for each code that speaks of a field.
pub(super) fn outcomes(plate: &Plate, fields: &BTreeMap<Field, Reading>) -> Vec<CheckOutcome> {
    let mut outcomes = Vec::new();
    for field in REPEATED {
        let Some(printed) = fields.get(&field).and_then(|r| r.printed.as_deref()) else {
            continue;
        };
        for code in &plate.codes {
            let (outcome, message) = match testimony(field, printed, code) {
                Some(Testimony::Agrees) => (
                    Outcome::Ok,
                    format!("the {} beside it also says {printed}", code.symbology),
                ),
                Some(Testimony::Differs(said)) => (
                    Outcome::Doubt,
                    format!(
                        "{printed} was read, the {} beside it says {said}",
                        code.symbology
                    ),
                ),
                None => continue,
            };
            outcomes.push(CheckOutcome {
                rule: "code-agrees".to_owned(),
                fields: vec![field],
                outcome,
                message,
                source: "common practice: a code on a plate repeats its model or serial number"
                    .to_owned(),
            });
        }
    }
    outcomes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Quad;
    use crate::record::State;
    use crate::text::{Code, Symbology};

    #[test]
    fn agreement_and_contradiction_are_told() {
        let serial = Reading::new(Field::Serial, "1567-88724", State::Clear, 0.999);
        let fields = BTreeMap::from([(Field::Serial, serial)]);
        let cases = [
            (
                "S/N 156788724",
                Some((Outcome::Ok, "the QR code beside it also says 1567-88724")),
            ),
            (
                "S/N 1567-88124",
                Some((
                    Outcome::Doubt,
                    "1567-88724 was read, the QR code beside it says 1567-88124",
                )),
            ),
            ("https://motors.example", None),
        ];
        for (text, expected) in cases {
            let code = Code {
                symbology: Symbology::QrCode,
                text: text.to_owned(),
                quad: Quad::default(),
            };
            let plate = Plate {
                codes: vec![code],
                ..Plate::default()
            };
            let got = outcomes(&plate, &fields);
            let got = got.first().map(|o| (o.outcome, o.message.as_str()));
            assert_eq!(got, expected, "{text}");
        }
    }
}
