//! Matching: what the replacement must be, and how each motor in stock stands to it, with a reason, its
//! numbers and its source for every yes and no. Knows the record, the trade and the stock's motor.

mod amps;
mod bearings;
mod buying;
mod candidate;
mod capacity;
mod cautions;
mod circuit;
mod class;
mod design;
mod doubt;
mod enclosure;
mod endurance;
mod feet;
mod frame;
mod hold;
mod lengths;
mod mounting;
mod old_motor;
mod place;
mod protection;
mod questions;
mod readings;
mod requirement;
mod room;
mod rotation;
mod shaft;
mod speed;
mod supply;
mod verdict;

pub use buying::Demand;
pub use candidate::{Candidate, CandidateOutcome};
pub use cautions::CAUTIONS;
pub use circuit::{CIRCUIT_NOTE, CircuitFigure, circuit_figures};
pub use frame::{Dimensions, Frame};
pub use hold::Hold;
pub use place::{BoxSide, Drive, Place, Restart, ShaftPosition, Surroundings};
pub use readings::rating_label;
pub use requirement::{Doubt, Fact, Requirement, Summary};
pub use rotation::Rotation;
pub use verdict::{Criterion, Outcome, Verdict};

use crate::record::Question;
use crate::stock::StockMotor;
use rayon::prelude::*;
use serde::Serialize;
use std::collections::HashMap;

/// The candidates for a requirement.
#[derive(Debug, Clone, Serialize)]
pub struct Matches {
    /// What was looked for.
    pub requirement: Requirement,
    /// Every motor of the list: fits, work, ask, no; inside each the closest first.
    pub candidates: Vec<Candidate>,
    /// What to ask so that the candidates become fewer or surer, the most telling first.
    pub questions: Vec<Question>,
    /// What keeps people alive.
    pub cautions: Vec<&'static str>,
}

/// Judges every motor of a stock list against a requirement and ranks them.
pub fn match_stock(requirement: &Requirement, stock: &[StockMotor]) -> Matches {
    let (ways, place) = (&requirement.ways, requirement.place());
    let frames = candidate::Frames::of(stock);
    let mut candidates: Vec<Candidate> = stock
        .par_iter()
        .map(|motor| candidate::evaluate(ways, place, &frames, motor))
        .collect();
    candidates.par_sort_by(closest_first);
    Matches {
        questions: questions::ask(ways, &candidates),
        requirement: requirement.clone(),
        candidates,
        cautions: CAUTIONS.to_vec(),
    }
}

impl Matches {
    /// Puts what is doubtful about a row of the list on its candidate, and such candidates behind those of the
    /// same outcome. Motors that are out of the question anyway are not looked at.
    pub fn warn(&mut self, stock: &[StockMotor], doubts: impl Fn(&StockMotor) -> Vec<String>) {
        let by_line: HashMap<u64, &StockMotor> = stock.iter().map(|m| (m.line, m)).collect();
        let possible = self
            .candidates
            .iter_mut()
            .filter(|c| c.outcome != CandidateOutcome::No);
        for candidate in possible {
            if let Some(motor) = by_line.get(&candidate.line) {
                candidate.warnings = doubts(motor);
            }
        }
        self.candidates
            .sort_by_key(|c| (c.outcome, !c.warnings.is_empty()));
    }
}

/// Best outcome first; inside it what lies on the shelf, what has the fewest doubts, the closest rating. The
/// number and the line settle ties, so that the order of the list changes nothing.
fn closest_first(a: &Candidate, b: &Candidate) -> std::cmp::Ordering {
    let sold_out = |c: &Candidate| c.quantity == Some(0.0);
    a.outcome
        .cmp(&b.outcome)
        .then_with(|| sold_out(a).cmp(&sold_out(b)))
        .then_with(|| a.open.cmp(&b.open))
        .then_with(|| a.distance.total_cmp(&b.distance))
        .then_with(|| a.sku.cmp(&b.sku))
        .then_with(|| a.line.cmp(&b.line))
}
