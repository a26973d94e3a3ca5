//! Matching: what the replacement must be, and how each motor in stock stands to it, with a reason, its
//! numbers and its source for every yes and no. Knows the record, the trade and the stock's motor.

mod amps;
mod buying;
mod candidate;
mod capacity;
mod cautions;
mod circuit;
mod class;
mod doubt;
mod enclosure;
mod endurance;
mod frame;
mod mechanical;
mod old_motor;
mod place;
mod questions;
mod readings;
mod requirement;
mod rotation;
mod speed;
mod supply;
mod verdict;

pub use buying::Demand;
pub use candidate::{Candidate, CandidateOutcome};
pub use cautions::CAUTIONS;
pub use circuit::{CIRCUIT_NOTE, CircuitFigure, circuit_figures};
pub use frame::Frame;
pub use place::{BoxSide, Drive, Place, Surroundings};
pub use readings::rating_label;
pub use requirement::{Doubt, Fact, Requirement, Summary};
pub use rotation::Rotation;
pub use verdict::{Criterion, Outcome, Verdict};

use crate::record::Question;
use crate::stock::StockMotor;
use rayon::prelude::*;
use serde::Serialize;

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
