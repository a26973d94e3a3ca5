//! A stock motor under all its criteria: the verdicts of one way to read the old plate, and what they come
//! to over all ways.

use super::frame::Frame;
use super::old_motor::OldMotor;
use super::place::Place;
use super::readings::Ways;
use super::supply::{self, Supply};
use super::verdict::{Outcome, Verdict};
use super::{
    amps, bearings, capacity, class, design, enclosure, endurance, feet, mounting, protection,
    room, rotation, shaft, speed,
};
use crate::record::{Class, Field, RatingPoint};
use crate::stock::StockMotor;
use crate::trade::poles;
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// A stock motor and how it stands to the requirement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// The shop's own number.
    pub sku: String,
    /// The worst of its verdicts.
    pub outcome: CandidateOutcome,
    /// The rating to use, with its connection.
    pub rating: RatingPoint,
    /// One verdict a criterion.
    pub verdicts: Vec<Verdict>,
    /// Where the outcome depends on how the old plate is read: the readings and what each comes to.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub depends: Vec<String>,
    /// What is doubtful about its row in the list: values that contradict each other or the tables.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// Frame as the list has it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frame: Option<String>,
    /// Enclosure as the list has it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub enclosure: Option<String>,
    /// Service factor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub service_factor: Option<f64>,
    /// Line of the stock list.
    pub line: u64,
    /// How many lie on the shelf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quantity: Option<f64>,
    /// Price as the list writes it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// Where it lies.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
    /// Remarks of the list.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Columns that the tool does not know.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub extra: BTreeMap<String, String>,
    /// How many of its verdicts fail, ask, take work.
    #[serde(skip)]
    pub(super) open: (usize, usize, usize),
    /// How far its rating and speed lie from the old ones; the smaller the closer.
    #[serde(skip)]
    pub(super) distance: f64,
    /// Its outcome under each way to read the plate, in the order of the ways.
    #[serde(skip)]
    pub(super) by_way: Vec<CandidateOutcome>,
}

/// How a stock motor stands to the requirement, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum CandidateOutcome {
    /// Every verdict passes.
    Fits,
    /// Only mechanical work stands between.
    Work,
    /// Something must be confirmed first.
    Ask,
    /// A verdict fails.
    No,
}

impl From<Outcome> for CandidateOutcome {
    fn from(worst: Outcome) -> Self {
        match worst {
            Outcome::Pass => CandidateOutcome::Fits,
            Outcome::Work => CandidateOutcome::Work,
            Outcome::Ask => CandidateOutcome::Ask,
            Outcome::Fail => CandidateOutcome::No,
        }
    }
}

fn worst(verdicts: &[Verdict]) -> Outcome {
    verdicts
        .iter()
        .map(|v| v.outcome)
        .max()
        .unwrap_or(Outcome::Ask)
}

/// The verdicts under one way to read the plate.
struct Evaluation {
    rating: RatingPoint,
    verdicts: Vec<Verdict>,
    distance: f64,
}

/// Everything about a stock motor that does not depend on the old one.
struct Shelf<'a> {
    motor: &'a StockMotor,
    frame: Option<&'a Frame>,
    rotation: Option<rotation::Rotation>,
}

/// The frames of a stock list, each taken apart once.
pub(super) struct Frames(HashMap<String, Frame>);

impl Frames {
    pub(super) fn of(stock: &[StockMotor]) -> Frames {
        let mut frames = HashMap::new();
        for printed in stock.iter().filter_map(|m| m.frame.as_deref()) {
            if !frames.contains_key(printed) {
                frames.insert(printed.to_owned(), Frame::parse(printed));
            }
        }
        Frames(frames)
    }
}

pub(super) fn evaluate(
    ways: &Ways,
    place: &Place,
    frames: &Frames,
    motor: &StockMotor,
) -> Candidate {
    let shelf = Shelf {
        motor,
        frame: motor.frame.as_deref().and_then(|f| frames.0.get(f)),
        rotation: motor
            .rotation
            .as_deref()
            .and_then(rotation::Rotation::parse),
    };
    let mut evaluations: Vec<Evaluation> = ways
        .ways
        .iter()
        .map(|w| one_way(&w.old, place, &shelf))
        .collect();
    let by_way: Vec<CandidateOutcome> = evaluations
        .iter()
        .map(|e| worst(&e.verdicts).into())
        .collect();
    let distance = ways
        .ways
        .iter()
        .zip(&evaluations)
        .map(|(w, e)| w.weight * e.distance)
        .sum();
    // The rating to name is that of the likeliest way in which the motor does best.
    let best = (0..by_way.len())
        .min_by_key(|&i| (by_way[i], i))
        .unwrap_or_default();
    let (rating, verdicts) = match evaluations.len() {
        1 => {
            let only = evaluations.swap_remove(0);
            (only.rating, only.verdicts)
        }
        // Whatever the plate says, something fails, though not always the same: no answer would help.
        _ if by_way.iter().all(|o| *o == CandidateOutcome::No) => {
            let likeliest = evaluations.swap_remove(0);
            (likeliest.rating, likeliest.verdicts)
        }
        _ => {
            let verdicts = super::doubt::merge(
                ways,
                evaluations.iter().map(|e| e.verdicts.as_slice()).collect(),
            );
            (evaluations.swap_remove(best).rating, verdicts)
        }
    };
    let rating = connected(motor, rating);
    let count = |o: Outcome| verdicts.iter().filter(|v| v.outcome == o).count();
    let open = (
        count(Outcome::Fail),
        count(Outcome::Ask),
        count(Outcome::Work),
    );
    Candidate {
        sku: motor.sku.clone(),
        outcome: worst(&verdicts).into(),
        rating,
        depends: super::doubt::depends(ways, &by_way),
        verdicts,
        warnings: Vec::new(),
        frame: motor.frame.clone(),
        enclosure: motor.enclosure.clone(),
        service_factor: motor.service_factor,
        line: motor.line,
        quantity: motor.quantity,
        price: motor.price.clone(),
        location: motor.location.clone(),
        notes: motor.notes.clone(),
        extra: motor.extra.iter().cloned().collect(),
        open,
        distance,
        by_way,
    }
}

/// The rating with its connection in words, where the motor has several.
fn connected(motor: &StockMotor, mut rating: RatingPoint) -> RatingPoint {
    if rating.connection.is_some() {
        return rating;
    }
    let several = |of: fn(&RatingPoint) -> Option<f64>| {
        let mine = of(&rating);
        mine.is_some() && motor.ratings.iter().any(|r| of(r) != mine)
    };
    let mut parts = Vec::new();
    // Neighbours such as 208-230 V are one connection.
    let other_winding = motor.ratings.iter().any(|r| {
        let apart = r.volts.zip(rating.volts).map(|(a, b)| a.0 / b.0);
        apart.is_some_and(|ratio| !(0.8..=1.25).contains(&ratio))
    });
    parts.extend(
        rating
            .volts
            .filter(|_| other_winding)
            .map(|v| v.to_string()),
    );
    parts.extend(
        rating
            .rpm
            .filter(|_| several(|r| r.rpm.map(|v| v.0)))
            .map(|r| r.to_string()),
    );
    let powers = several(|r| r.power().map(|v| v.0));
    parts.extend(
        rating
            .power()
            .filter(|_| powers)
            .map(|_| super::capacity::power(&rating)),
    );
    if !parts.is_empty() {
        rating.connection = Some(format!("connect for {}", parts.join(", ")));
    }
    rating
}

fn one_way(old: &OldMotor, place: &Place, shelf: &Shelf<'_>) -> Evaluation {
    let supply = Supply::of(old, place);
    let none = [RatingPoint::default()];
    let points = if shelf.motor.ratings.is_empty() {
        &none[..]
    } else {
        &shelf.motor.ratings
    };
    // A motor that names the supply's own voltage is connected there, and nowhere else.
    let own: Vec<&RatingPoint> = points
        .iter()
        .filter(|p| {
            p.volts
                .zip(supply.volts)
                .is_some_and(|(a, b)| supply::same_system(a, b))
        })
        .collect();
    let usable = if own.is_empty() {
        points.iter().collect()
    } else {
        own
    };
    let judged = usable
        .into_iter()
        .map(|point| (point, electrical(old, shelf.motor, point, supply)));
    let best = judged.min_by(|a, b| rank(old, a).total_cmp(&rank(old, b)));
    let (rating, electrical) = best.map(|(p, v)| (p.clone(), v)).unwrap_or_default();
    let distance = distance(old, shelf.motor, &rating);
    let frame = shelf.frame;
    let mut verdicts = vec![class::verdict(old, place, shelf.motor)];
    verdicts.extend(electrical);
    verdicts.push(enclosure::verdict(old, place, shelf.motor));
    let poles = |r: &RatingPoint| poles(r.rpm?, r.hertz.or(supply.hertz)?);
    let poles = shaft::Poles {
        old: poles(&old.rating),
        new: poles(&rating),
    };
    verdicts.push(feet::verdict(old, place, frame, &rating));
    verdicts.push(shaft::verdict(old, place, shelf.motor, frame, poles));
    verdicts.extend(mounting::verdict(old, place, shelf.motor, frame));
    verdicts.extend(room::conduit_box(place, shelf.motor));
    verdicts.extend(room::length(place, shelf.motor));
    verdicts.extend(rotation::verdict(
        place.rotation.or(old.rotation),
        shelf.rotation,
        supply.phase,
        place.rotation.is_none() && old.doubts(Field::Rotation),
    ));
    verdicts.extend(endurance::insulation(old, shelf.motor));
    verdicts.extend(endurance::duty(old, shelf.motor));
    verdicts.extend(endurance::ambient(old, place, shelf.motor));
    verdicts.extend(endurance::capacitor(old, shelf.motor));
    verdicts.extend(design::verdict(old, place, shelf.motor, &rating, supply));
    verdicts.extend(protection::verdict(
        old,
        place,
        shelf.motor,
        &rating,
        supply,
    ));
    verdicts.extend(bearings::verdict(old, place, shelf.motor));
    Evaluation {
        rating,
        verdicts,
        distance,
    }
}

fn electrical(
    old: &OldMotor,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
) -> Vec<Verdict> {
    let air_over = old.class == Some(Class::AirOver);
    vec![
        supply::phase(supply, point),
        supply::hertz(supply, point, air_over),
        supply::volts(supply, point),
        if air_over {
            amps::verdict(old, motor, point)
        } else {
            capacity::verdict(old, motor, point, supply)
        },
        speed::verdict(old, motor, point, supply, air_over),
    ]
}

/// Orders the ratings of one motor: the best verdicts, then the nearest.
fn rank(old: &OldMotor, (point, verdicts): &(&RatingPoint, Vec<Verdict>)) -> f64 {
    let weight = |o: Outcome| match o {
        Outcome::Pass => 0.0,
        Outcome::Work => 1.0,
        Outcome::Ask => 10.0,
        Outcome::Fail => 1000.0,
    };
    let verdicts: f64 = verdicts.iter().map(|v| weight(v.outcome)).sum();
    let near = point
        .amps
        .zip(old.rating.amps)
        .map_or(0.5, |(a, b)| (a.0 / b.0).ln().abs().min(0.9));
    verdicts + near
}

/// How far power (or amps) and speed lie from the old ones, as a fraction.
fn distance(old: &OldMotor, motor: &StockMotor, rating: &RatingPoint) -> f64 {
    let apart = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) if a > 0.0 && b > 0.0 => (a / b).ln().abs(),
        _ => 1.0,
    };
    let load = if old.class == Some(Class::AirOver) {
        apart(rating.amps.map(|a| a.0), old.rating.amps.map(|a| a.0))
    } else {
        let offered = rating
            .power()
            .map(|p| p.0 * motor.service_factor.unwrap_or(1.0));
        apart(offered, old.capacity().map(|p| p.0))
    };
    load + apart(rating.rpm.map(|r| r.0), old.rating.rpm.map(|r| r.0))
}
