//! Lengths in the verdicts: when two are the same, and how they are written.

use super::frame::Dimensions;
use crate::units::{Inches, plain};

/// What two lengths may differ by and still be the same: a hundredth of an inch.
pub(super) const SAME: f64 = 0.01;

pub(super) fn same(a: Inches, b: Inches) -> bool {
    (a.0 - b.0).abs() < SAME
}

/// Inches with at most three decimals.
pub(super) fn inches(length: f64) -> String {
    format!("{} in", plain((length * 1000.0).round() / 1000.0))
}

/// A length of a metric motor in both units.
pub(super) fn with_mm(length: Inches, is_metric: bool) -> String {
    if is_metric {
        let mm = (length.0 * 25.4 * 10.0).round() / 10.0;
        format!("{} ({} mm)", inches(length.0), plain(mm))
    } else {
        inches(length.0)
    }
}

/// The tables that two frames come from.
pub(super) fn source(old: Option<Dimensions>, new: Option<Dimensions>) -> &'static str {
    if old.is_some_and(|d| d.is_iec) || new.is_some_and(|d| d.is_iec) {
        "NEMA MG 1 4.4.1 and IEC 60072-1 (frame dimensions)"
    } else {
        "NEMA MG 1 4.4.1 (frame dimensions)"
    }
}
