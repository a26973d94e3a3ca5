//! What a plausibility rule is.

use super::motor::{Motor, Slot};
use crate::record::Field;

/// Below this factor a rule doubts what it was shown.
pub(super) const DOUBT: f64 = 0.2;

/// From this factor up a rule is content.
pub(super) const CONTENT: f64 = 0.3;

/// One plausibility rule. It looks at one way to read the plate and says how plausible that is.
pub(super) struct Rule {
    /// Its name, as the checks of a record give it.
    pub name: &'static str,
    /// Standard, table or "common practice".
    pub source: &'static str,
    /// The fields without which it has nothing to say.
    pub needs: &'static [Field],
    /// Fields that it looks at where the plate shows them.
    pub uses: &'static [Field],
    /// The rule itself; `None` when it has nothing to say about this motor.
    pub judge: fn(&Motor) -> Option<Finding>,
}

/// What a rule found.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Finding {
    /// Plausibility, above 0 up to 1.
    pub factor: f64,
    /// What was compared, with its numbers, in one sentence.
    pub message: String,
}

impl Finding {
    /// A finding; the factor is kept between 0.003 (nothing is impossible: plates are misprinted too) and 1.
    pub fn new(factor: f64, message: impl Into<String>) -> Finding {
        Finding {
            factor: factor.clamp(0.003, 1.0),
            message: message.into(),
        }
    }

    /// The less plausible of two.
    pub fn worse(self, other: Finding) -> Finding {
        if other.factor < self.factor {
            other
        } else {
            self
        }
    }
}

impl Rule {
    /// All fields that it looks at.
    pub fn fields(&self) -> impl Iterator<Item = Field> + '_ {
        self.needs.iter().chain(self.uses).copied()
    }

    /// What it finds in `motor`; `None` when something that it needs is not there or not known.
    pub fn find(&self, motor: &Motor) -> Option<Finding> {
        self.needs
            .iter()
            .all(|&f| motor.candidate(f).is_some())
            .then(|| (self.judge)(motor))?
    }

    /// The factor by which it weighs `motor`; 1 when it has nothing to say, and when it would look at
    /// something that none of the candidates covers.
    pub fn factor(&self, motor: &Motor) -> f64 {
        if self.fields().any(|f| matches!(motor.slot(f), Slot::Other)) {
            return 1.0;
        }
        self.find(motor).map_or(1.0, |finding| finding.factor)
    }
}

/// 1 between `low` and `high`; outside it falls with the distance, to 0.2 about 16 % beyond.
pub(super) fn within(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() || value <= 0.0 {
        return 0.0;
    }
    let beyond = (low / value).ln().max((value / high).ln()).max(0.0);
    (-(beyond / 0.12).powi(2)).exp()
}

/// 1 up to `good`, from there falling to 0.1 at `bad` and beyond.
pub(super) fn falling(value: f64, good: f64, bad: f64) -> f64 {
    0.1f64.powf(((value - good) / (bad - good)).max(0.0))
}

/// Numbers of a sentence: `a`, `a and b`, `a, b and c`.
pub(super) fn listed(numbers: &[f64]) -> String {
    let words: Vec<String> = numbers.iter().map(|n| crate::units::plain(*n)).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// The two values of a series that a value is nearest to by ratio, in rising order.
pub(super) fn nearest(series: &[f64], value: f64) -> Vec<f64> {
    let away = |v: &f64| (v / value).ln().abs();
    let mut near = series.to_vec();
    near.sort_by(|a, b| away(a).total_cmp(&away(b)));
    near.dedup();
    near.truncate(2);
    near.sort_by(f64::total_cmp);
    near
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_are_soft() {
        assert_eq!(within(0.5, 0.35, 0.75), 1.0);
        assert!(within(0.31, 0.35, 0.75) > DOUBT);
        assert!(within(0.28, 0.35, 0.75) < DOUBT);
        assert!(within(0.05, 0.35, 0.75) < 1e-6);
        assert_eq!(within(0.0, 0.35, 0.75), 0.0);
        assert_eq!(within(f64::NAN, 0.35, 0.75), 0.0);
        assert_eq!(falling(0.02, 0.05, 0.07), 1.0);
        assert!((falling(0.07, 0.05, 0.07) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn lists_read_as_sentences() {
        assert_eq!(listed(&[115.0]), "115");
        assert_eq!(listed(&[200.0, 208.0, 230.0]), "200, 208 and 230");
        assert_eq!(listed(&[]), "");
    }
}
