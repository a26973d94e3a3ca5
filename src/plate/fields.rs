//! From values given to labels to fields: probabilities, doubts, and what to do where two places speak of
//! the same field.

use super::alone::Alone;
use super::assign::Match;
use super::layout::{Head, Layout, Relation};
use super::lexicon::Target;
use super::reading::{Candidate, FieldReading, Other};
use super::values::{self, Read};
use crate::photo::Quad;
use crate::record::{Field, Value, notation};
use std::collections::BTreeMap;

/// Values no more usual than this are doubtful by their form alone.
const UNUSUAL: f64 = 0.05;

/// A field read in one place.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub field: Field,
    pub reading: FieldReading,
    /// How the value stands to its label; `None` without one.
    pub relation: Option<Relation>,
    /// Middle of the place on the levelled plate: x, y, and its height.
    pub at: (f32, f32, f32),
    /// Whether the value is one that plates usually print.
    pub usual: bool,
}

fn candidates(reads: &[Read]) -> Vec<Candidate> {
    reads
        .iter()
        .map(|r| Candidate {
            printed: r.printed.clone(),
            value: r.value.clone(),
            probability: r.probability,
        })
        .collect()
}

/// A table repeats what its rows share: `50/50` hertz is 50.
fn once(field: Field, candidates: Vec<Candidate>) -> Vec<Candidate> {
    if matches!(field, Field::Volts | Field::Amps) {
        return candidates;
    }
    let mut shared: Vec<Candidate> = Vec::new();
    for c in candidates {
        let parts: Vec<&str> = c.printed.split('/').collect();
        let alike = c.value.numbers().len() == parts.len() && parts.iter().all(|p| *p == parts[0]);
        let printed = if alike {
            parts[0].to_owned()
        } else {
            c.printed.clone()
        };
        let value = if alike {
            Value::Number(c.value.numbers()[0])
        } else {
            c.value
        };
        match shared.iter_mut().find(|s| s.printed == printed) {
            Some(known) => known.probability += c.probability,
            None => shared.push(Candidate {
                printed,
                value,
                ..c
            }),
        }
    }
    shared
}

/// The fields and other items that the matches say.
pub(super) fn of_matches(layout: &Layout<'_>, matches: &[Match]) -> (Vec<Found>, Vec<Other>) {
    let count = |r: Relation| matches.iter().filter(|m| m.edge.relation == r).count();
    // A plate that prints its labels below its values does so throughout.
    let below = count(Relation::Above) >= 3 && count(Relation::Above) > count(Relation::Below);
    let has_amps = matches
        .iter()
        .any(|m| m.edge.target == Target::Field(Field::Amps));
    let (mut found, mut other) = (Vec::new(), Vec::new());
    for m in matches {
        let head = &layout.heads[m.edge.head];
        let place = layout.fill(&m.edge.pieces);
        let quad = quad(layout, &m.edge.pieces);
        let mut doubts = doubts(layout, m, head);
        let field = match m.edge.target {
            Target::Field(field) => field,
            Target::Watts => {
                doubts.push("watts may be the input, not the shaft power".to_owned());
                Field::Kw
            }
            Target::MetricHp => Field::Hp,
            Target::MaxAmps => {
                doubts.push("MAX AMPS may be the full-load or the service factor amps".to_owned());
                if has_amps {
                    Field::ServiceFactorAmps
                } else {
                    Field::Amps
                }
            }
            Target::Other(kind) | Target::Mark(kind) => {
                other.push(Other {
                    kind: kind.to_owned(),
                    printed: m.edge.fit.reads[0].printed.clone(),
                    quad,
                });
                let Some(field) = type_as(matches, kind, &m.edge.fit.reads[0].printed) else {
                    continue;
                };
                doubts.push(format!(
                    "{} may be another code than the {field}",
                    head.label.text
                ));
                field
            }
        };
        let ambiguous = match m.edge.target {
            Target::MaxAmps => 0.75,
            Target::Other(_) => 0.7,
            _ => 1.0,
        };
        let reading = FieldReading {
            candidates: once(field, candidates(&m.edge.fit.reads)),
            association: m.probability * supported(head, m, below) * ambiguous,
            label: Some(head.label.text.clone()),
            quad,
            doubts,
        };
        let one = Found {
            field,
            reading,
            relation: Some(m.edge.relation),
            at: (place.center(), place.y, place.height),
            usual: m.edge.fit.usual > 0.5,
        };
        if field == Field::CapacitorUf {
            found.extend(capacitor(one));
        } else {
            found.push(one);
        }
    }
    (found, other)
}

/// What the code behind TYPE is where the plate has no other label for it: IEC plates print the frame or the
/// maker's model there.
fn type_as(matches: &[Match], kind: &str, printed: &str) -> Option<Field> {
    let labelled = |field| {
        matches
            .iter()
            .any(|m| m.edge.target == Target::Field(field))
    };
    let digits = printed.chars().filter(char::is_ascii_digit).count();
    if kind != "type" || digits < 2 {
        None
    } else if values::accepts(Target::Field(Field::Frame), printed) && values::usual_frame(printed)
    {
        (!labelled(Field::Frame)).then_some(Field::Frame)
    } else {
        (!labelled(Field::Model) && printed.len() >= 5).then_some(Field::Model)
    }
}

/// How sure a label is beside the value that stands there: a value of the right form speaks for it.
fn supported(head: &Head<'_>, m: &Match, labels_below: bool) -> f64 {
    let speaks = if values::is_free(m.edge.target) {
        2.0
    } else {
        40.0 * m.edge.fit.usual
    };
    let for_it = head.label.certainty * speaks;
    let way = match m.edge.relation {
        Relation::Above if !labels_below => 0.9,
        Relation::Above | Relation::Below | Relation::Left => 0.998,
        Relation::Right | Relation::Within => 1.0,
    };
    let strange = if m.edge.fit.usual <= UNUSUAL {
        0.9
    } else {
        1.0
    };
    way * strange * for_it / (for_it + 1.0 - head.label.certainty)
}

fn quad(layout: &Layout<'_>, pieces: &[usize]) -> Quad {
    let spans: Vec<_> = pieces.iter().map(|&p| layout.pieces[p].item.span).collect();
    let first = spans[0];
    let same_line = spans.iter().all(|s| s.line == first.line);
    if same_line {
        let to = spans.iter().map(|s| s.to).max().unwrap_or(first.to);
        return layout.sheet.quad(super::sheet::Span { to, ..first });
    }
    let quads: Vec<Quad> = spans.iter().map(|&s| layout.sheet.quad(s)).collect();
    Quad::around(&quads).unwrap_or_default()
}

fn doubts(layout: &Layout<'_>, m: &Match, head: &Head<'_>) -> Vec<String> {
    let mut doubts = Vec::new();
    if supported(head, m, true) < 0.97 {
        doubts.push(format!(
            "its label was read as {:?}, which is only nearly a label",
            head.label.text
        ));
    }
    if m.edge.fit.usual <= UNUSUAL {
        doubts.push(format!(
            "{:?} is hardly ever printed for this",
            m.edge.fit.reads[0].printed
        ));
    }
    if m.probability < 0.9 {
        doubts.push("the value may belong to another label".to_owned());
    }
    let last = m
        .edge
        .pieces
        .last()
        .map(|&p| layout.pieces[p].item.text.as_str());
    let cut = last.is_some_and(|t| {
        t.ends_with(['/', '-']) || (t.ends_with('.') && t.contains(|c: char| c.is_ascii_digit()))
    });
    if cut
        && !values::is_free(m.edge.target)
        && matches!(
            &m.edge.fit.reads[0].value,
            Value::Number(_) | Value::Numbers(_)
        )
    {
        doubts.push("the value ends in a separator and may be cut off".to_owned());
    }
    doubts
}

/// `7.5/370`, `5 MFD 370V`: capacitance and voltage of the capacitor in one value.
fn capacitor(one: Found) -> Vec<Found> {
    let split = |printed: &str| -> (String, Option<String>) {
        let number = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let runs: Vec<&str> = printed
            .split(|c| !number(c))
            .filter(|r| r.contains(|c: char| c.is_ascii_digit()))
            .collect();
        match runs.as_slice() {
            [uf, volts, ..] => ((*uf).to_owned(), Some((*volts).to_owned())),
            [uf] => ((*uf).to_owned(), None),
            [] => (printed.to_owned(), None),
        }
    };
    let mut volts: Vec<Candidate> = Vec::new();
    let mut uf: Vec<Candidate> = Vec::new();
    let add = |list: &mut Vec<Candidate>, field: Field, printed: String, probability: f64| match (
        list.iter_mut().find(|c| c.printed == printed),
        notation::parse(field, &printed),
    ) {
        (Some(known), _) => known.probability += probability,
        (None, Some(value)) => list.push(Candidate {
            printed,
            value,
            probability,
        }),
        (None, None) => {}
    };
    for c in &one.reading.candidates {
        let (first, second) = split(&c.printed);
        add(&mut uf, Field::CapacitorUf, first, c.probability);
        if let Some(second) = second {
            add(&mut volts, Field::CapacitorVolts, second, c.probability);
        }
    }
    let with = |field: Field, candidates: Vec<Candidate>| {
        let mut part = one.clone();
        part.field = field;
        part.reading.candidates = candidates;
        part
    };
    let mut parts = Vec::new();
    if !uf.is_empty() {
        parts.push(with(Field::CapacitorUf, uf));
    }
    if !volts.is_empty() {
        parts.push(with(Field::CapacitorVolts, volts));
    }
    parts
}

/// A value without a label as a field.
pub(super) fn of_alone(layout: &Layout<'_>, row: usize, alone: &Alone) -> Found {
    let items = &layout.rows[row][alone.items.clone()];
    let quads: Vec<Quad> = items.iter().map(|i| layout.sheet.quad(i.span)).collect();
    let quad = match quads.as_slice() {
        [one] => *one,
        several => Quad::around(several).unwrap_or_default(),
    };
    let first = items[0].place;
    Found {
        field: alone.field,
        reading: FieldReading {
            candidates: candidates(&alone.fit.reads),
            association: alone.certainty,
            label: None,
            quad,
            doubts: Vec::new(),
        },
        relation: None,
        at: (first.center(), first.y, first.height),
        usual: alone.fit.usual > 0.5,
    }
}

/// One reading a field from all places that speak of it; what is set aside becomes another item.
pub(super) fn merge(found: Vec<Found>, other: &mut Vec<Other>) -> BTreeMap<Field, FieldReading> {
    let mut by_field: BTreeMap<Field, Vec<Found>> = BTreeMap::new();
    for one in found {
        by_field.entry(one.field).or_default().push(one);
    }
    let capacitor = by_field.contains_key(&Field::CapacitorUf);
    by_field
        .into_iter()
        .map(|(field, mut places)| {
            if field == Field::Enclosure {
                places = without_protection(places, other);
            }
            if field == Field::Volts {
                without_capacitor(&mut places, capacitor, other);
            }
            if matches!(field, Field::Model | Field::Serial) {
                places = plainest(places, other);
            }
            (field, one_of(field, places))
        })
        .collect()
}

/// Where a capacitor is on the plate, 370 or 440 volts beside other volts are most likely the capacitor's.
fn without_capacitor(places: &mut Vec<Found>, capacitor: bool, other: &mut Vec<Other>) {
    let rated = |f: &Found| matches!(f.reading.candidates[0].value.numbers(), [370.0] | [440.0]);
    let own_unit = |f: &Found| matches!(f.relation, Some(Relation::Left | Relation::Within));
    if !capacitor || places.iter().all(rated) {
        return;
    }
    let aside = places.extract_if(.., |f| rated(f) && own_unit(f));
    other.extend(aside.map(|f| Other {
        kind: "capacitor_volts".to_owned(),
        printed: f.reading.candidates[0].printed.clone(),
        quad: f.reading.quad,
    }));
}

/// `TEFC` and `IP55` on one plate do not contradict each other; the enclosure is the first.
fn without_protection(places: Vec<Found>, other: &mut Vec<Other>) -> Vec<Found> {
    let is_ip = |f: &Found| {
        f.reading.candidates[0]
            .printed
            .to_uppercase()
            .starts_with("IP")
    };
    if places.iter().all(is_ip) {
        return places;
    }
    let (ip, named): (Vec<Found>, Vec<Found>) = places.into_iter().partition(is_ip);
    other.extend(ip.into_iter().map(|f| Other {
        kind: "degree_of_protection".to_owned(),
        printed: f.reading.candidates[0].printed.clone(),
        quad: f.reading.quad,
    }));
    named
}

fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Text(a), Value::Text(b)) => a == b,
        _ => {
            let (a, b) = (a.numbers(), b.numbers());
            a.len() == b.len()
                && a.iter()
                    .zip(b)
                    .all(|(x, y)| (x - y).abs() <= 1e-6 * x.abs())
        }
    }
}

/// Several numbers of the maker's may stand on a plate; the model is the one whose label says so most plainly.
fn rank(reading: &FieldReading) -> usize {
    const PLAIN: [&[&str]; 3] = [
        &["MODEL", "MOD", "M/N", "MDL", "SERIAL", "SER", "S/N", "SN"],
        &["CAT", "STYLE", "STK", "STOCK", "MFG"],
        &["PART", "P/N", "SPEC", "ORDER"],
    ];
    let label: String = reading
        .label
        .iter()
        .flat_map(|l| l.chars())
        .filter(|c| !". ".contains(*c))
        .collect();
    let label = label.to_uppercase();
    PLAIN
        .iter()
        .position(|p| p.iter().any(|l| label.contains(l)))
        .unwrap_or(PLAIN.len())
}

fn plainest(mut places: Vec<Found>, other: &mut Vec<Other>) -> Vec<Found> {
    let best = places.iter().map(|f| rank(&f.reading)).min();
    let kept = places
        .extract_if(.., |f| Some(rank(&f.reading)) == best)
        .collect();
    other.extend(places.into_iter().map(|f| Other {
        kind: "further_number".to_owned(),
        printed: f.reading.candidates[0].printed.clone(),
        quad: f.reading.quad,
    }));
    kept
}

fn one_of(field: Field, mut places: Vec<Found>) -> FieldReading {
    places.sort_by(|a, b| trust(b).total_cmp(&trust(a)));
    let rest = places.split_off(1);
    let Some(mut main) = places.pop() else {
        unreachable!("every group has a place");
    };
    let mut apart: Vec<Found> = Vec::new();
    for place in rest {
        if same(
            &main.reading.candidates[0].value,
            &place.reading.candidates[0].value,
        ) {
            agree(&mut main.reading, &place.reading);
        } else {
            apart.push(place);
        }
    }
    if apart.is_empty() {
        return main.reading;
    }
    if let Some(list) = list(field, &main, &apart) {
        return list;
    }
    for place in apart {
        disagree(&mut main.reading, &place.reading);
    }
    main.reading
}

fn trust(found: &Found) -> f64 {
    let usual = if found.usual { 1.0 } else { 0.3 };
    found.reading.association * found.reading.candidates[0].probability * usual
}

/// Two places say the same: both would have to be wrong in the same way.
fn agree(main: &mut FieldReading, second: &FieldReading) {
    let wrong = 1.0 - second.candidates[0].probability * second.association;
    let best = &mut main.candidates[0];
    let rest_before = 1.0 - best.probability;
    best.probability = 1.0 - rest_before * wrong;
    for c in &mut main.candidates[1..] {
        c.probability *= wrong;
    }
    main.association = 1.0 - (1.0 - main.association) * (1.0 - second.association);
    if main.association > 0.9 {
        main.doubts
            .retain(|d| d != "the value may belong to another label");
    }
}

fn disagree(main: &mut FieldReading, second: &FieldReading) {
    main.doubts.push(format!(
        "two places disagree: {:?} and {:?}",
        main.candidates[0].printed, second.candidates[0].printed
    ));
    let share = main.association / (main.association + second.association).max(1e-9);
    for c in &mut main.candidates {
        c.probability *= share;
    }
    for c in &second.candidates {
        let probability = c.probability * (1.0 - share);
        match main.candidates.iter_mut().find(|m| m.printed == c.printed) {
            Some(known) => known.probability += probability,
            None => main.candidates.push(Candidate {
                probability,
                ..c.clone()
            }),
        }
    }
    main.candidates
        .sort_by(|a, b| b.probability.total_cmp(&a.probability));
}

/// Several ratings, each with its own unit, in one row or one column: `1/2 HP 6.8 A`, `1/3 HP 5.2 A`.
fn list(field: Field, main: &Found, apart: &[Found]) -> Option<FieldReading> {
    let mut places: Vec<&Found> = std::iter::once(main).chain(apart).collect();
    let own_unit = |f: &&Found| {
        matches!(f.relation, Some(Relation::Left | Relation::Within))
            && f.usual
            && f.reading.candidates[0].value.numbers().len() == 1
    };
    let height = main.at.2;
    let row = places
        .iter()
        .all(|f| (f.at.1 - main.at.1).abs() < 0.5 * height);
    let column = places
        .iter()
        .all(|f| (f.at.0 - main.at.0).abs() < 2.0 * height);
    if !values::takes_several(Target::Field(field))
        || !places.iter().all(own_unit)
        || !(row || column)
    {
        return None;
    }
    let key = |f: &Found| if row { f.at.0 } else { f.at.1 };
    places.sort_by(|a, b| key(a).total_cmp(&key(b)));
    let printed: Vec<&str> = places
        .iter()
        .map(|f| f.reading.candidates[0].printed.as_str())
        .collect();
    let printed = printed.join("/");
    let value = notation::parse(field, &printed)?;
    let probability = places
        .iter()
        .map(|f| f.reading.candidates[0].probability)
        .product();
    let association = places
        .iter()
        .map(|f| f.reading.association)
        .fold(0.9, f64::min);
    let quads: Vec<Quad> = places.iter().map(|f| f.reading.quad).collect();
    let mut doubts: Vec<String> = places
        .iter()
        .flat_map(|f| f.reading.doubts.clone())
        .collect();
    doubts.push("several places give this field; they are taken for several ratings".to_owned());
    Some(FieldReading {
        candidates: vec![Candidate {
            printed,
            value,
            probability,
        }],
        association,
        label: main.reading.label.clone(),
        quad: Quad::around(&quads)?,
        doubts,
    })
}

/// Labels whose value cannot be read.
pub(super) fn unreadable(
    layout: &Layout<'_>,
    matches: &[Match],
    fields: &BTreeMap<Field, FieldReading>,
) -> BTreeMap<Field, Quad> {
    let mut unreadable = BTreeMap::new();
    for (index, head) in layout.heads.iter().enumerate() {
        let taken = matches.iter().any(|m| m.edge.head == index);
        if taken || head.within.is_some() || !head.label.strong || head.label.certainty < 0.8 {
            continue;
        }
        let targets: Vec<Field> = head.label.targets.iter().filter_map(field_of).collect();
        if let [field] = targets[..]
            && !fields.contains_key(&field)
        {
            unreadable
                .entry(field)
                .or_insert_with(|| layout.sheet.quad(head.item.span));
        }
    }
    unreadable
}

fn field_of(target: &Target) -> Option<Field> {
    match target {
        Target::Field(field) => Some(*field),
        Target::Watts => Some(Field::Kw),
        Target::MetricHp => Some(Field::Hp),
        _ => None,
    }
}
