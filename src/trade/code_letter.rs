//! Locked-rotor code letters (NEC Table 430.7(B), NEMA MG 1 10.37.2; source in `data/nec_code_letters.csv`).

use super::table::rows;
use serde::Deserialize;
use std::sync::LazyLock;

/// One letter with its range of locked-rotor kVA per horsepower.
#[derive(Debug, Clone, Deserialize)]
pub struct CodeLetter {
    /// The letter; I, O and Q are not used.
    pub letter: char,
    /// Lower end in kVA per hp, inside the range.
    #[serde(rename = "kva_per_hp_min_inclusive")]
    pub min: f64,
    /// Upper end in kVA per hp, outside the range; `None` for the last letter.
    #[serde(rename = "kva_per_hp_max_exclusive")]
    pub max: Option<f64>,
}

static LETTERS: LazyLock<Vec<CodeLetter>> =
    LazyLock::new(|| rows(include_str!("data/nec_code_letters.csv")));

/// All letters, the smallest locked-rotor current first.
pub fn code_letters() -> &'static [CodeLetter] {
    &LETTERS
}

/// The range of a letter.
pub fn code_letter(letter: char) -> Option<&'static CodeLetter> {
    LETTERS.iter().find(|l| l.letter == letter)
}

/// The letter of a locked-rotor input in kVA per horsepower.
pub fn code_letter_of(kva_per_hp: f64) -> Option<&'static CodeLetter> {
    LETTERS
        .iter()
        .find(|l| l.min <= kva_per_hp && l.max.is_none_or(|max| kva_per_hp < max))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::formulas::locked_rotor_kva_per_hp;
    use crate::units::{Amps, Horsepower, Volts};

    /// Source: NEC Table 430.251(B) at 460 V with Table 430.7(B), three phase.
    #[test]
    fn letters_of_the_code_locked_rotor_currents() {
        for (hp, lra, kva, letter) in [
            (1.0, 15.0, 11.95, 'N'),
            (1.5, 20.0, 10.62, 'M'),
            (2.0, 25.0, 9.96, 'L'),
            (3.0, 32.0, 8.50, 'K'),
            (5.0, 46.0, 7.33, 'J'),
            (7.5, 63.5, 6.75, 'H'),
            (10.0, 81.0, 6.45, 'H'),
            (15.0, 116.0, 6.16, 'G'),
            (20.0, 145.0, 5.78, 'G'),
        ] {
            let got = locked_rotor_kva_per_hp(3, Volts(460.0), Amps(lra), Horsepower(hp));
            assert!((got - kva).abs() < 0.01, "{hp} hp: {got}");
            assert_eq!(
                code_letter_of(got).map(|l| l.letter),
                Some(letter),
                "{hp} hp"
            );
        }
    }

    /// Source: NFPA 70 (NEC) 2023 Table 430.7(B).
    #[test]
    fn ranges_follow_one_another_without_gap() {
        let letters: String = code_letters().iter().map(|l| l.letter).collect();
        assert_eq!(letters, "ABCDEFGHJKLMNPRSTUV");
        assert!(
            code_letters()
                .windows(2)
                .all(|w| w[0].max == Some(w[1].min))
        );
        assert_eq!(
            code_letter('K').map(|l| (l.min, l.max)),
            Some((8.0, Some(9.0)))
        );
        assert_eq!(code_letter_of(3.149).map(|l| l.letter), Some('A'));
        assert_eq!(code_letter_of(40.0).map(|l| l.letter), Some('V'));
        assert!(code_letter('I').is_none() && code_letter_of(-1.0).is_none());
    }
}
