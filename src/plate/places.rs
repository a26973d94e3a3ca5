//! Several places that speak of one field: they agree, they disagree, or they are several ratings.

use super::fields::Found;
use super::layout::Relation;
use super::lexicon::Target;
use super::reading::{ANOTHERS, Candidate, FieldReading, Other};
use super::usual::{possible_capacitor_volts, usual_capacitor_volts};
use super::values;
use crate::photo::Quad;
use crate::record::{Field, Value, notation};
use std::collections::BTreeMap;

/// One reading a field from all places that speak of it; what is set aside becomes another item.
pub(super) fn merge(found: Vec<Found>, other: &mut Vec<Other>) -> BTreeMap<Field, FieldReading> {
    let mut by_field: BTreeMap<Field, Vec<Found>> = BTreeMap::new();
    for one in found {
        by_field.entry(one.field).or_default().push(one);
    }
    part_from_capacitor(&mut by_field, other);
    let table = Table::of(&by_field);
    by_field
        .into_iter()
        .map(|(field, mut places)| {
            // What is said in passing, `REPLACES 1/6 - 1/4 HP WHEN ...`, is no rating where one stands elsewhere.
            let rated = !field.is_text() || matches!(field, Field::Rotation | Field::Duty);
            if rated && places.iter().any(|f| !f.said) {
                places.retain(|f| !f.said);
            }
            if field == Field::Enclosure {
                places = without_protection(places, other);
                without_description(&mut places);
            }
            if field == Field::Hertz {
                without_ranges(&mut places);
            }
            if field == Field::Rotation {
                without_sentences(&mut places);
            }
            if field == Field::Duty {
                without_air_over(&mut places);
            }
            if field.is_makers_number() {
                places = plainest(places, other);
            }
            (field, one_of(field, places, &table))
        })
        .collect()
}

/// The ratings of a plate in which every figure has its unit: where the columns of such a table stand (`50 Hz` and
/// `60 Hz` above `230/400 V` and `265/460 V`), where its rows do (`2.20A 3400RPM` above `1.45A 2600RPM`), and how far below
/// another each of its bands stands (`60 Hz 3 HP` above `8.4 A 1760 rpm`, and the same below with other figures).
struct Table {
    columns: Vec<f32>,
    rows: Vec<f32>,
    bands: Vec<f32>,
    /// The middles of rows that give several ratings each.
    spread: Vec<f32>,
}

impl Table {
    /// Columns that the rows of three fields share, rows that the columns of two do, or steps between the rows that those of
    /// three do: figures below each other are hardly so by chance.
    fn of(by_field: &BTreeMap<Field, Vec<Found>>) -> Table {
        use Field::*;
        let rated = [Volts, Amps, Hp, Kw, Rpm, Hertz].map(|field| by_field.get(&field));
        let several: Vec<&Vec<Found>> = rated
            .into_iter()
            .flatten()
            .filter(|f| f.len() > 1)
            .collect();
        let shared = |line: &dyn Fn(&[&Found]) -> Option<Vec<f32>>, apart: f32, at_least: usize| {
            let lines: Vec<(Vec<f32>, f32)> = several
                .iter()
                .filter_map(|f| Some((line(&f.iter().collect::<Vec<_>>())?, apart * f[0].at.2)))
                .collect();
            let table = lines.iter().find(|(own, apart)| {
                lines
                    .iter()
                    .filter(|(other, _)| alike(own, other, *apart))
                    .count()
                    >= at_least
            });
            table.map_or(Vec::new(), |(own, _)| own.clone())
        };
        let rows = [Volts, Amps, Hp, Kw, Rpm, ServiceFactor, PowerFactor];
        let rows = rows.into_iter().filter_map(|field| by_field.get(&field));
        let lists = |f: &&Found| f.reading.candidates[0].value.numbers().len() > 1;
        let spread = rows.flatten().filter(lists).map(|f| f.at.0).collect();
        Table {
            spread,
            columns: shared(&row, 3.0, 3),
            rows: shared(&column, 0.5, 2),
            bands: shared(&|places| Some(steps(&column(places)?)), 0.6, 3),
        }
    }

    /// Whether places head the columns of a table whose rows have their labels in front: `60 Hz` and `50 Hz` over three
    /// rows or more that lie below both.
    fn is_headed_by(&self, places: &[&Found]) -> bool {
        let height = places[0].at.2;
        row(places).is_some_and(|middles| {
            let middle = middles.iter().sum::<f32>() / middles.len() as f32;
            let below = |x: &&f32| (**x - middle).abs() < 3.0 * height;
            self.spread.iter().filter(below).count() >= 3
        })
    }

    /// Whether places are a row or a column of the table.
    fn holds(&self, places: &[&Found]) -> bool {
        let height = places[0].at.2;
        row(places).is_some_and(|middles| alike(&self.columns, &middles, 3.0 * height))
            || column(places).is_some_and(|levels| {
                alike(&self.rows, &levels, 0.5 * height)
                    || alike(&self.bands, &steps(&levels), 0.6 * height)
            })
    }
}

/// The middles of places in one row, from left to right; `None` where they do not stand in one.
fn row(places: &[&Found]) -> Option<Vec<f32>> {
    let (_, y, height) = places.first()?.at;
    let level = places.iter().all(|f| (f.at.1 - y).abs() < 0.5 * height);
    level.then(|| sorted(places, |f| f.at.0))
}

/// The levels of places in one column, from above; `None` where they do not stand in one.
fn column(places: &[&Found]) -> Option<Vec<f32>> {
    let (x, _, height) = places.first()?.at;
    let straight = places.iter().all(|f| (f.at.0 - x).abs() < 2.0 * height);
    straight.then(|| sorted(places, |f| f.at.1))
}

/// How far each level is below the one before.
fn steps(levels: &[f32]) -> Vec<f32> {
    levels.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

fn sorted(places: &[&Found], key: fn(&Found) -> f32) -> Vec<f32> {
    let mut keys: Vec<f32> = places.iter().map(|f| key(f)).collect();
    keys.sort_by(f32::total_cmp);
    keys
}

fn alike(one: &[f32], other: &[f32], apart: f32) -> bool {
    let mut pairs = one.iter().zip(other);
    !one.is_empty() && one.len() == other.len() && pairs.all(|(a, b)| (a - b).abs() < apart)
}

/// A place that is not the field's, as another item of the plate.
fn set_aside(kind: &str, place: &Found) -> Other {
    Other {
        kind: kind.to_owned(),
        printed: place.reading.candidates[0].printed.clone(),
        quad: place.reading.quad,
    }
}

/// Where a capacitor is on the plate, 370 or 440 volts beside other volts are most likely the capacitor's, and so is what
/// stands right below its capacitance, `180 VAC` below `CAPACITOR 8 µF`, beside volts that a label announces.
fn part_from_capacitor(by_field: &mut BTreeMap<Field, Vec<Found>>, other: &mut Vec<Other>) {
    /// How surely they are.
    const LIKELY: f64 = 0.985;
    let own_unit = |f: &Found| matches!(f.relation, Some(Relation::Left | Relation::Within));
    let capacitors: Vec<(f32, f32, f32)> = by_field
        .get(&Field::CapacitorUf)
        .map_or(Vec::new(), |places| places.iter().map(|f| f.at).collect());
    let Some(volts) = by_field.get_mut(&Field::Volts) else {
        return;
    };
    let right_below = |f: &Found| {
        let (x, y, height) = f.at;
        capacitors.iter().any(|&(left, above, _)| {
            let deep = (y - above) / height;
            (0.7..2.4).contains(&deep) && (x - left).abs() < 6.0 * height
        })
    };
    let announced = volts.iter().any(|f| !own_unit(f));
    let rated = |f: &Found| match f.reading.candidates[0].value.numbers() {
        &[v] => {
            let below = announced && possible_capacitor_volts(v) && right_below(f);
            usual_capacitor_volts(v) || below
        }
        _ => false,
    };
    if capacitors.is_empty() || volts.iter().all(rated) {
        return;
    }
    let parted: Vec<Found> = volts.extract_if(.., |f| rated(f) && own_unit(f)).collect();
    // What has its own label needs no other.
    let labelled = by_field.contains_key(&Field::CapacitorVolts);
    for mut place in parted {
        if labelled {
            other.push(set_aside("capacitor_volts", &place));
        } else {
            place.field = Field::CapacitorVolts;
            place.reading.association *= LIKELY;
            by_field.entry(place.field).or_default().push(place);
        }
    }
}

/// `CONT` and `AIR OVER` on one plate do not contradict each other; how long the motor may run is the first. That it is
/// cooled by the air of its fan is taken from the words themselves.
fn without_air_over(places: &mut Vec<Found>) {
    let air_over = |f: &Found| {
        let duty = f.reading.candidates[0].value.text();
        duty.and_then(crate::trade::duty)
            .is_some_and(|d| d.code == "AIR OVER")
    };
    if !places.iter().all(air_over) {
        places.retain(|f| !air_over(f));
    }
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
    other.extend(ip.iter().map(|f| set_aside("degree_of_protection", f)));
    named
}

/// TOTALLY ENCLOSED, WASHDOWN and the like beside `TEFC` say more of the same housing, and do not contradict it.
fn without_description(places: &mut Vec<Found>) {
    let code = |f: &Found| {
        let text = f.reading.candidates[0].value.text();
        text.and_then(crate::trade::enclosure)
            .map(|e| e.code.clone())
    };
    let general = |f: &Found| {
        f.reading.label.is_none() && code(f).is_some_and(|c| ["TE", "WASH", "SUB"].contains(&&*c))
    };
    let enclosed = |f: &Found| !general(f) && code(f).is_some_and(|c| c.starts_with("TE"));
    if places.iter().any(enclosed) {
        places.retain(|f| !general(f));
    }
    // `XP` beside `ENCL XPFC`; and `FOR DRY, DAMP OR WASH-DOWN USE` of another motor's place.
    let labelled = places.iter().find(|f| f.reading.label.is_some()).map(code);
    if let Some(Some(own)) = labelled {
        // A word of how it is connected: `T4 T5 T6 OPEN`.
        let open = |f: &Found| code(f).as_deref() == Some("OPEN");
        let another = |f: &Found| !f.said && !open(f) && code(f).as_ref() != Some(&own);
        places.retain(|f| f.reading.label.is_some() || another(f));
    }
}

/// Frequencies between which an inverter may drive the motor, `6-60 HZ`, are not the one that it is rated for.
fn without_ranges(places: &mut Vec<Found>) {
    let value = |f: &Found| f.reading.candidates[0].value.clone();
    let range = |f: &Found| {
        f.reading.candidates[0].printed.contains('-') && value(f).numbers() != [50.0, 60.0]
    };
    let rated = |f: &Found| {
        value(f)
            .numbers()
            .iter()
            .all(|&hertz| [50.0, 60.0].contains(&hertz))
    };
    if places.iter().any(|f| rated(f) && !range(f)) {
        places.retain(|f| !range(f));
    }
}

/// What a label announces is the motor's; the same words without a label are of a sentence: `ROTATION PLUG: ORG-YEL CW`.
fn without_sentences(places: &mut Vec<Found>) {
    let value = |f: &Found| f.reading.candidates[0].value.clone();
    let labelled = |f: &&Found| f.reading.label.is_some() && f.reading.association > 0.95;
    if let Some(own) = places.iter().find(labelled).map(value) {
        places.retain(|f| f.reading.label.is_some() || value(f) == own);
    }
}

/// Whether a place says only one of the values that another lists, as an instruction does: `FOR 230 V MOVE PLUG` beside
/// `115/230` V.
fn repeats(field: Field, whole: &Value, part: &Value) -> bool {
    let (whole, part) = (whole.numbers(), part.numbers());
    let among = |n: &f64| whole.iter().any(|w| equal(*w, *n));
    field == Field::Volts && !part.is_empty() && part.len() < whole.len() && part.iter().all(among)
}

/// Whether two figures are one number, but for rounding.
fn equal(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs()
}

/// Whether two texts name one enclosure, as `TCCV` and its words do.
fn one_housing(a: &Value, b: &Value) -> bool {
    let code = |value: &Value| Some(crate::trade::enclosure(value.text()?)?.code.clone());
    code(a).is_some_and(|a| code(b) == Some(a))
}

fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Text(a), Value::Text(b)) => a == b,
        _ => {
            let (a, b) = (a.numbers(), b.numbers());
            a.len() == b.len() && a.iter().zip(b).all(|(x, y)| equal(*x, *y))
        }
    }
}

/// Several numbers of the maker's may stand on a plate; the model is the one whose label says so most plainly.
fn rank(reading: &FieldReading) -> usize {
    const PLAIN: [&[&str]; 4] = [
        &["MODEL", "MOD", "M/N", "MDL", "SERIAL", "SER", "S/N", "SN"],
        &["CAT", "STK", "STOCK", "MFG"],
        &["TIPO", "TYP", "MOTOR"],
        &[
            "STYLE", "PART", "P/N", "SPEC", "ORDER", "ART", "REF", "ITEM", "PROD",
        ],
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
    // What is only nearly a label is not asked beside one that is: `MODULE P/N` beside `MODEL NO.`
    let sure = |f: &Found| Some(rank(&f.reading)) == best && f.reading.association > 0.95;
    let least = if places.iter().any(sure) { 0.8 } else { 0.0 };
    let kept = places
        .extract_if(.., |f| {
            Some(rank(&f.reading)) == best && f.reading.association >= least
        })
        .collect();
    other.extend(places.iter().map(|f| set_aside("further_number", f)));
    kept
}

fn one_of(field: Field, mut places: Vec<Found>, table: &Table) -> FieldReading {
    places.sort_by(|a, b| trust(b).total_cmp(&trust(a)));
    // Before those that speak of one of its voltages comes the place that lists all of them.
    let value = |f: &Found| f.reading.candidates[0].value.clone();
    let lists_first = |f: &Found| f.usual && repeats(field, &value(f), &value(&places[0]));
    if let Some(at) = places.iter().position(lists_first) {
        places[..=at].rotate_right(1);
    }
    let rest = places.split_off(1);
    let Some(mut main) = places.pop() else {
        unreachable!("every group has a place");
    };
    let mut apart: Vec<Found> = Vec::new();
    for place in rest {
        let (whole, value) = (
            &main.reading.candidates[0].value,
            &place.reading.candidates[0].value,
        );
        let one_duty = field == Field::Duty && values::are_continuous(whole, value);
        let one_housing = field == Field::Enclosure && one_housing(whole, value);
        if same(whole, value) || one_duty || one_housing {
            agree(&mut main.reading, &place.reading);
        } else if !(main.usual && repeats(field, whole, value)) {
            apart.push(place);
        }
    }
    if apart.is_empty() {
        return main.reading;
    }
    if let Some(list) = list(field, &main, &apart, table) {
        return list;
    }
    // What hardly any plate prints there is another field's: `S.F. 3.5-3.2/1.6` has lost the A of its label.
    let sure = main.usual;
    for place in apart.into_iter().filter(|p| !(sure && p.strange)) {
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
    main.open = main.open.and(second.open);
    main.association = 1.0 - (1.0 - main.association) * (1.0 - second.association);
    if main.association > 0.9 {
        main.doubts.retain(|d| d != ANOTHERS);
    }
}

fn disagree(main: &mut FieldReading, second: &FieldReading) {
    if main.claims.is_empty() {
        main.claims.push(main.candidates[0].clone());
    }
    main.claims.push(second.candidates[0].clone());
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
fn list(field: Field, main: &Found, apart: &[Found], table: &Table) -> Option<FieldReading> {
    let mut places: Vec<&Found> = std::iter::once(main).chain(apart).collect();
    let table = table.holds(&places) || field == Field::Hertz && table.is_headed_by(&places);
    let single = |f: &Found| f.reading.candidates[0].value.numbers().len() == 1;
    let own_unit = |f: &&Found| {
        let unit = matches!(f.relation, Some(Relation::Left | Relation::Within));
        f.usual && (table || unit && single(f))
    };
    let level = row(&places).is_some();
    if !values::takes_several(Target::Field(field))
        || !places.iter().all(own_unit)
        || !(level || column(&places).is_some())
    {
        return None;
    }
    let key = |f: &Found| if level { f.at.0 } else { f.at.1 };
    places.sort_by(|a, b| key(a).total_cmp(&key(b)));
    let printed: Vec<&str> = places
        .iter()
        .map(|f| f.reading.candidates[0].printed.as_str())
        .collect();
    // Lists stay apart: `230/400 265/460`.
    let between = if places.iter().all(|f| single(f)) {
        "/"
    } else {
        " "
    };
    let printed = printed.join(between);
    let value = notation::parse(field, &printed)?;
    let probability = places
        .iter()
        .map(|f| f.reading.candidates[0].probability)
        .product();
    let most = if table { 1.0 } else { 0.9 };
    let association = places
        .iter()
        .map(|f| f.reading.association)
        .fold(most, f64::min);
    let quads: Vec<Quad> = places.iter().map(|f| f.reading.quad).collect();
    let mut doubts: Vec<String> = places
        .iter()
        .flat_map(|f| f.reading.doubts.clone())
        .collect();
    if !table {
        doubts
            .push("several places give this field; they are taken for several ratings".to_owned());
    }
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
        claims: Vec::new(),
        open: main.reading.open,
        seconded: None,
    })
}
