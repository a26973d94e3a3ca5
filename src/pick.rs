//! The chain from a requirement and a stock list to the candidates, with what is doubtful about the rows
//! themselves.

use crate::check;
use crate::matching::{Matches, Requirement, match_stock};
use crate::record::{Class, Outcome};
use crate::stock::StockMotor;

/// Judges every motor of a stock list against a requirement and ranks them. A candidate whose row cannot be
/// quite right carries a warning.
pub fn pick(requirement: &Requirement, stock: &[StockMotor]) -> Matches {
    let mut matches = match_stock(requirement, stock);
    matches.warn(stock, implausible);
    matches
}

/// What the plausibility rules of plates, and the pairing of its rows, say against a stock motor.
pub fn implausible(motor: &StockMotor) -> Vec<String> {
    let checks = check::plausibility(&motor.printed, motor.class == Some(Class::AirOver));
    let doubts = checks.into_iter().filter(|c| c.outcome == Outcome::Doubt);
    let told = doubts.map(|c| format!("{} [{}]", c.message, c.source));
    told.chain(motor.pairing_doubt.clone()).collect()
}
