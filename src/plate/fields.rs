//! From values given to labels to fields: probabilities, doubts, and what to do where two places speak of
//! the same field.

use super::alone::Alone;
use super::assign::Match;
use super::designation::{designation, is_part, is_typed, is_unlabelled};
use super::doubts;
use super::labels::Kind;
use super::layout::{Head, LISTED, Layout, Piece, Relation, announces};
use super::lexicon::Target;
use super::parts::counts;
use super::reading::{Candidate, FieldReading, Open, Other};
use super::usual::{usual_capacitor_volts, usual_volts};
use super::values::{self, Read};
use crate::photo::Quad;
use crate::record::{Field, Value, notation};
use std::collections::{BTreeMap, HashSet};

/// Values no more usual than this are doubtful by their form alone.
pub(super) const UNUSUAL: f64 = 0.05;
/// Figures that stand no farther apart than this, in heights of text, may be one value.
pub(super) const CLOSE: f32 = 1.3;
/// From this room on between label and value, in heights of text, columns are wide.
const WIDE: f32 = 7.0;

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
    /// Whether hardly any plate prints such a value.
    pub strange: bool,
    /// Whether it stands in a sentence.
    pub said: bool,
}

pub(super) fn candidates(reads: &[Read]) -> Vec<Candidate> {
    reads
        .iter()
        .map(|r| Candidate {
            printed: r.printed.clone(),
            value: r.value.clone(),
            probability: r.probability,
        })
        .collect()
}

/// A table repeats what its rows share: `50 50` hertz is 50. Amps of each rating stay, and so do voltages within a rating.
fn once(field: Field, candidates: Vec<Candidate>) -> Vec<Candidate> {
    let each = |printed: &str| match field {
        Field::Amps => true,
        Field::Volts => printed.contains('/'),
        _ => false,
    };
    let mut shared: Vec<Candidate> = Vec::new();
    for c in candidates {
        let (printed, value) = match repeated(&c.printed, c.value.numbers().len()) {
            Some(cell) if !each(&c.printed) => {
                (cell.to_owned(), Value::Number(c.value.numbers()[0]))
            }
            _ => (c.printed.clone(), c.value),
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

/// The cell that `printed` repeats `count` times, parted by strokes or blanks: `50` of `50 50`, `1 1/2` of
/// `1 1/2/1 1/2`.
fn repeated(printed: &str, count: usize) -> Option<&str> {
    if count < 2 || !printed.is_ascii() || !(printed.len() + 1).is_multiple_of(count) {
        return None;
    }
    let length = (printed.len() + 1) / count - 1;
    let cell = &printed[..length];
    let alike = (0..count).all(|at| {
        let from = at * (length + 1);
        let parted = at == 0 || [b'/', b' '].contains(&printed.as_bytes()[from - 1]);
        parted && &printed[from..from + length] == cell
    });
    alike.then_some(cell)
}

/// The fields and other items that the matches say.
pub(super) fn of_matches(layout: &Layout<'_>, matches: &[Match]) -> (Vec<Found>, Vec<Other>) {
    let count = |r: Relation| matches.iter().filter(|m| m.edge.relation == r).count();
    // A plate that prints its labels below its values does so throughout, but for the table of its ratings.
    let above = count(Relation::Above);
    let below = above >= 4 || above == 3 && above > count(Relation::Below);
    // And one with wide columns has several values far from their labels.
    let far = |m: &&Match| {
        m.edge.relation == Relation::Right && layout.room(&layout.heads[m.edge.head]) > WIDE
    };
    let wide = matches.iter().filter(far).count() >= 3;
    let used: HashSet<usize> = matches.iter().flat_map(|m| m.edge.pieces.clone()).collect();
    let has_amps = shows(matches, Field::Amps);
    // What stands behind TYPE is the model rather than the number of a part or a style.
    let named = matches.iter().any(|m| {
        let label = &layout.heads[m.edge.head].label.text;
        m.edge.target == Target::Field(Field::Model) && !is_part(label)
    });
    let is_model = |m: &Match| match m.edge.target {
        Target::Field(field) => field == Field::Model,
        Target::Other(kind) => {
            code_as(matches, named, kind, &m.edge.fit.reads[0].printed) == Some(Field::Model)
        }
        _ => false,
    };
    let has_model = matches.iter().any(is_model) || !designation(layout).is_empty();
    // Another code that may be the motor's model stands behind TYPE, or has no label at all.
    let unlabelled = is_unlabelled(layout, &used);
    let designated = is_typed(matches) || unlabelled;
    // Beside letters alone any other number may be the model.
    let has_rival = shows(matches, Field::Model) || unlabelled;
    let (mut found, mut other) = (Vec::new(), Vec::new());
    for m in matches {
        let head = &layout.heads[m.edge.head];
        let place = layout.fill(&m.edge.pieces);
        let quad = quad(layout, &m.edge.pieces);
        let mut doubts = doubts::of(layout, m, matches, &used);
        let mut open = None;
        let coded = match m.edge.target {
            Target::Other("type") => {
                let printed = &m.edge.fit.reads[0].printed;
                is_coded(printed)
                    || is_short_code(printed)
                    || is_lettered_code(printed) && !has_rival
            }
            // By its name it tells this motor, or its kind, from others; behind `TYPE` it is no name but letters of the number.
            Target::Other("identity") => !is_behind_label(layout, head),
            _ => false,
        };
        let designation = matches!(m.edge.target, Target::Other(kind) if designates(matches, kind));
        let uncertain = !designation && !coded;
        let field = match m.edge.target {
            Target::Watts | Target::Field(Field::Kw) => {
                // `P1 MAX. 1.95 kW`
                let before = layout.words_before(m.edge.pieces[0], 2);
                let before = before.map(side).fold(Side::Unsaid, Side::or);
                let behind = m.edge.pieces.last().and_then(|&p| layout.after(p));
                let behind = behind.map_or("", |p| &layout.pieces[p].item.text);
                // `P1` and `[W]` above a column.
                let heading = head.at.checked_sub(1).map(|at| &layout.rows[head.row][at]);
                let heading = heading.filter(|_| head.item.gap < CLOSE);
                let before = before.or(heading.map_or(Side::Unsaid, |item| side(&item.text)));
                match before.or(side(&head.label.text)).or(side(behind)) {
                    Side::Shaft => {}
                    // Kilowatts are the shaft's (IEC 60034-1), if nothing says otherwise.
                    Side::Unsaid if m.edge.target == Target::Watts => {
                        open = Some(Open::InputOrShaft);
                    }
                    Side::Unsaid => {}
                    Side::Line => {
                        other.push(Other {
                            kind: "input_power".to_owned(),
                            printed: m.edge.fit.reads[0].printed.clone(),
                            quad,
                        });
                        continue;
                    }
                }
                Field::Kw
            }
            Target::Field(field) => field,
            // `PS` beside horsepower is something else: a part of a code, of the maker's name.
            Target::MetricHp if shows(matches, Field::Hp) => continue,
            Target::MetricHp => Field::Hp,
            Target::MaxRpm if shows(matches, Field::Rpm) => {
                other.push(Other {
                    kind: "other_speed".to_owned(),
                    printed: m.edge.fit.reads[0].printed.clone(),
                    quad,
                });
                continue;
            }
            Target::MaxRpm => {
                open = Some(Open::RatedOrHighest);
                Field::Rpm
            }
            Target::MaxAmps => {
                open = Some(Open::FullLoadOrServiceFactor);
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
                let code = &m.edge.fit.reads[0].printed;
                let Some(field) = code_as(matches, named, kind, code) else {
                    continue;
                };
                if uncertain {
                    doubts.push(format!(
                        "{} may be another code than the {field}",
                        head.label.text
                    ));
                }
                field
            }
        };
        if field == Field::Model && is_part(&head.label.text) && designated {
            doubts.push(format!(
                "{} may be another code than the {field}",
                head.label.text
            ));
        }
        let theirs = ["CUST", "OEM"];
        let label = head.label.text.to_uppercase();
        if field == Field::Model && theirs.iter().any(|word| label.contains(word)) {
            doubts.push(format!(
                "{} is the number of whoever built the motor in",
                head.label.text
            ));
        }
        let number = is_number(&head.label.text) && !counts(&m.edge.fit.reads[0].printed);
        if field == Field::Serial && number && !has_model {
            doubts.push(format!(
                "{} may be the number of the model",
                head.label.text
            ));
        }
        let ambiguous = match m.edge.target {
            Target::Other(_) if uncertain => 0.7,
            _ => 1.0,
        };
        let mut candidates = candidates(&m.edge.fit.reads);
        if matches!(m.edge.target, Target::Other(_)) {
            // What was read as a code means what the field's own notation says.
            candidates.retain_mut(|c| match notation::parse(field, &c.printed) {
                Some(value) => {
                    c.value = value;
                    true
                }
                None => false,
            });
        }
        if field == Field::Rotation {
            seen_from(&head.label.text, &mut candidates);
        }
        if candidates.is_empty() {
            continue;
        }
        let reading = FieldReading {
            candidates: once(field, candidates),
            association: m.probability
                * supported(head, m, below)
                * ambiguous
                * across(layout, head, m, wide),
            label: Some(head.label.text.clone()),
            quad,
            doubts,
            claims: Vec::new(),
            open,
            seconded: None,
        };
        let one = Found {
            field,
            reading,
            relation: Some(m.edge.relation),
            at: (place.center(), place.y, place.height),
            usual: m.edge.fit.usual > 0.5,
            strange: m.edge.fit.usual <= UNUSUAL,
            said: layout.is_sentence(layout.pieces[m.edge.pieces[0]].item.span.line)
                || is_said_of_another(layout, field, m.edge.pieces[0]),
        };
        if field == Field::CapacitorUf {
            found.extend(capacitor(one));
        } else {
            found.push(one);
        }
    }
    (found, other)
}

/// Whether a rating is of something else by the words before it: `DO NOT CONNECT TO 115 VOLTS`, `REPLACES 9-16 W MOTORS`.
fn is_said_of_another(layout: &Layout<'_>, field: Field, piece: usize) -> bool {
    let words: Vec<&str> = layout.words_before(piece, 2).collect();
    let word = |text: &str| text.len() > 2 && text.chars().all(char::is_alphabetic);
    let is = |word: &str, one: &str| word.eq_ignore_ascii_case(one);
    match (field, &words[..]) {
        (Field::Volts, [to, before]) => is(to, "TO") && word(before),
        (Field::Hp | Field::Kw, [before, ..]) => is(before, "REPLACES"),
        _ => false,
    }
}

/// Of which side of the motor a power is, by the words of its label.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Shaft,
    Line,
    Unsaid,
}

impl Side {
    fn or(self, other: Side) -> Side {
        if self == Side::Unsaid { other } else { self }
    }
}

fn side(label: &str) -> Side {
    let text = label.to_uppercase();
    let says = |words: &[&str]| words.iter().any(|word| text.contains(word));
    // Of the languages of IEC plates: utile, absorbée; resi, assorbiti; Abgabe, Aufnahme.
    if says(&["OUT", "UTIL", "RESI", "ABGA", "P2"]) {
        Side::Shaft
    } else if says(&["INPUT", "ABS", "ASS", "AUFN", "P1", "PIN"]) || text == "PE" {
        Side::Line
    } else {
        Side::Unsaid
    }
}

/// A label that says from which end the rotation is seen, `ROT. (LEAD END)`, says it of its value.
fn seen_from(label: &str, candidates: &mut [Candidate]) {
    let label = label.to_uppercase();
    let mut words = label.split(|c: char| !c.is_ascii_alphanumeric());
    let mut words = words.by_ref().filter(|word| !word.is_empty());
    if !words
        .next()
        .is_some_and(|word| ["ROT", "ROTATION"].contains(&word))
    {
        return;
    }
    let end = words.collect::<Vec<_>>().join(" ");
    if !["END", "LE", "SE"].iter().any(|word| end.ends_with(word)) {
        return;
    }
    let reversible = Value::Text("reversible".to_owned());
    for candidate in candidates.iter_mut().filter(|c| c.value != reversible) {
        if !candidate.printed.contains(['E', 'e']) {
            candidate.printed = format!("{} ({end})", candidate.printed);
        }
    }
}

/// What the code behind TYPE is where the plate has no other label for it: IEC plates print the frame or the
/// maker's model there. A long code behind DATE CODE tells the motor apart as a serial number does.
/// `named` says whether a label announces the model, and not the number of a part alone.
fn code_as(matches: &[Match], named: bool, kind: &str, printed: &str) -> Option<Field> {
    let digits = printed.chars().filter(char::is_ascii_digit).count();
    if kind == "rated_load_amps_compressor" {
        return (!shows(matches, Field::Amps)).then_some(Field::Amps);
    }
    // IEC sizes stand in the maker's designation behind letters of the maker's.
    let letters = printed.chars().take_while(|c| c.is_alphabetic()).count();
    let lettered = letters > 0 && !printed.to_uppercase().starts_with("IEC");
    if kind == "date_code" {
        let code = printed.len() >= 6
            && printed
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || c == '-');
        (code && !shows(matches, Field::Serial)).then_some(Field::Serial)
    } else if kind == "identity" {
        let mut fields = [Field::Model, Field::Serial];
        // `MOTOR NO 318840`, `MOTOR NO K 48213/6`
        if counts(printed) {
            fields.reverse();
        }
        let shown = |field| match field {
            Field::Model => named,
            _ => shows(matches, field),
        };
        let field = fields.into_iter().find(|&field| !shown(field));
        field.filter(|_| digits > 1)
    } else if kind != "type"
        || digits < 2 && !(digits == 1 && printed.contains('-')) && !is_lettered_code(printed)
    {
        None
    } else if values::accepts(Target::Field(Field::Frame), printed)
        && super::usual::usual_frame(printed)
        && !(lettered && (letters > 1 || designates(matches, kind)))
    {
        (!shows(matches, Field::Frame)).then_some(Field::Frame)
    } else {
        let model = printed.len() >= 5 || is_short_code(printed) || is_lettered_code(printed);
        (model && !named).then_some(Field::Model)
    }
}

/// Whether a label says that a number follows and not which, `NO.`, `N°`.
fn is_number(label: &str) -> bool {
    let key: String = super::lexicon::key(label).into_iter().collect();
    ["N", "NO", "N°", "NR"].contains(&key.as_str())
}

/// Whether what stands behind TYPE is a number of the maker's and no kind of winding: long, with letters and at least
/// two figures.
pub(super) fn is_coded(printed: &str) -> bool {
    let digits = printed.chars().filter(char::is_ascii_digit).count();
    let letters = printed.chars().any(|c| c.is_ascii_uppercase());
    letters && digits >= 2 && printed.len() >= 6
}

/// Whether what stands behind TYPE is a short number of the maker's: letters, a dash and figures, `KD-4`, `TV-6A`. Kinds of winding
/// have no figures, and mountings and the types of enclosures no dash.
fn is_short_code(printed: &str) -> bool {
    let (letters, rest) = printed.split_once('-').unwrap_or_default();
    let figures = rest.trim_end_matches(|c: char| c.is_ascii_uppercase());
    (2..=4).contains(&letters.len())
        && is_upper(letters)
        && (1..=3).contains(&figures.len())
        && figures.chars().all(|c| c.is_ascii_digit())
        && rest.len() - figures.len() <= 2
}

/// Whether what stands behind TYPE is letters with a dash that are no kind of motor, winding or housing: `CD-K`, not `CAP-ST`.
fn is_lettered_code(printed: &str) -> bool {
    const KINDS: &[&str] = &[
        "A", "AC", "AIR", "AO", "CAGE", "CAP", "CI", "CR", "CS", "DC", "DP", "EC", "EX", "FC",
        "IC", "IND", "IR", "NV", "O", "OPEN", "OVER", "PH", "PM", "PSC", "REP", "RES", "RUN", "SP",
        "SQ", "SR", "ST", "SYN", "TE", "XP",
    ];
    let (first, second) = printed.split_once('-').unwrap_or_default();
    let part =
        |part: &str| (1..=4).contains(&part.len()) && is_upper(part) && !KINDS.contains(&part);
    part(first) && part(second) && printed.len() > 3
}

fn is_upper(word: &str) -> bool {
    word.chars().all(|c| c.is_ascii_uppercase())
}

/// Whether TYPE is the maker's designation of the machine, which a plate by IEC 60034-1 (10.2) must show: such a plate
/// gives the power in kilowatts alone. On plates by NEMA MG 1 it may be the kind of winding.
fn designates(matches: &[Match], kind: &str) -> bool {
    kind == "type" && shows(matches, Field::Kw) && !shows(matches, Field::Hp)
}

/// Whether a label announces this field and was given a value.
fn shows(matches: &[Match], field: Field) -> bool {
    let target = Target::Field(field);
    matches.iter().any(|m| m.edge.target == target)
}

/// How surely a value far right of a label is its own: another column, or a wiring diagram, may begin there.
fn across(layout: &Layout<'_>, head: &Head<'_>, m: &Match, wide: bool) -> f64 {
    let far = m.edge.relation == Relation::Right && layout.room(head) > LISTED;
    if far && !wide { 0.9 } else { 1.0 }
}

/// How sure a label is beside the value that stands there: a value of the right form speaks for it.
pub(super) fn supported(head: &Head<'_>, m: &Match, labels_below: bool) -> f64 {
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

pub(super) fn quad(layout: &Layout<'_>, pieces: &[usize]) -> Quad {
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

/// Whether a list of voltages without a label goes beyond the voltages that units alone announce: the label of `115/230` may be
/// worn away, and `115 V PLUG` be of a note.
pub(super) fn lists_more(found: &[Found], alone: &Alone) -> bool {
    let mut others = found.iter().filter(|f| f.field == alone.field);
    let unit = |f: &Found| matches!(f.relation, Some(Relation::Left | Relation::Within));
    let several = |numbers: &[f64]| numbers.len() > 1;
    alone.field == Field::Volts
        && several(alone.fit.reads[0].value.numbers())
        && others.all(|f| unit(f) && !several(f.reading.candidates[0].value.numbers()))
}

/// A value without a label as a field.
pub(super) fn of_alone(
    layout: &Layout<'_>,
    row: usize,
    alone: &Alone,
    free: &dyn Fn(usize) -> bool,
) -> Found {
    let duty = alone.field == Field::Duty;
    let air_over = duty && doubts::nearly_air_over(&layout.rows[row], &alone.items, free);
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
            doubts: air_over
                .then(|| doubts::AIR_OVER.to_owned())
                .into_iter()
                .collect(),
            claims: Vec::new(),
            open: None,
            seconded: None,
        },
        relation: None,
        at: (first.center(), first.y, first.height),
        usual: alone.fit.usual > 0.5,
        strange: alone.fit.usual <= UNUSUAL,
        said: layout.is_sentence(items[0].span.line),
    }
}

/// The one figure of a plate without volts that is a usual voltage and belongs to nothing: worn labels leave them so,
/// `OLTS 115`. A person decides.
pub(super) fn volts_alone(
    layout: &Layout<'_>,
    used: &HashSet<(usize, usize)>,
    has_capacitor: bool,
) -> Option<Found> {
    /// How surely such a figure is the voltage.
    const LIKELY: f64 = 0.6;
    let voltage = |piece: &Piece<'_>| -> Option<Alone> {
        let volts: f64 = piece.item.text.parse().ok().filter(|&v| usual_volts(v))?;
        let of_capacitor = has_capacitor && usual_capacitor_volts(volts);
        let free = !used.contains(&(piece.row, piece.at));
        let said = layout.is_sentence(piece.item.span.line);
        let lattice = layout.sheet.lattice(piece.item.span);
        (free && !said && !of_capacitor).then_some(Alone {
            field: Field::Volts,
            items: piece.at..piece.at + 1,
            fit: values::read(Target::Field(Field::Volts), &lattice, 0.3)?,
            certainty: LIKELY,
        })
    };
    let mut places = layout
        .pieces
        .iter()
        .filter_map(|piece| Some((piece.row, voltage(piece)?)));
    let (row, alone) = places.next()?;
    if places.next().is_some() {
        return None;
    }
    let mut found = of_alone(layout, row, &alone, &|_| false);
    let doubt = "no label says that these are the volts".to_owned();
    found.reading.doubts.push(doubt);
    Some(found)
}

/// Whether a label follows closely on another.
fn is_behind_label(layout: &Layout<'_>, head: &Head<'_>) -> bool {
    let before = head.at.checked_sub(1).map(|at| &layout.rows[head.row][at]);
    head.item.gap < CLOSE && before.is_some_and(announces)
}

/// Labels whose value cannot be read.
pub(super) fn idle_labels(layout: &Layout<'_>, matches: &[Match]) -> BTreeMap<Field, Quad> {
    let mut idle = BTreeMap::new();
    for (index, head) in layout.heads.iter().enumerate() {
        let taken = matches.iter().any(|m| m.edge.head == index);
        // `ROT. FACING SHAFT` says from where the rotation is seen that stands elsewhere.
        let next = layout.rows[head.row].get(head.at + 1);
        let seen_from = [Some(head.item), next].into_iter().flatten().any(|item| {
            let text = item.text.to_uppercase();
            text.contains("FACING") || text.contains("VIEWED")
        });
        // `TO REVERSE ROTATION INTERCHANGE ...`, and `COMPRESSOR DUTY`, a kind of motor.
        let before = head.at.checked_sub(1).map(|at| &layout.rows[head.row][at]);
        let kind = before.is_some_and(|before| {
            let word = matches!(before.kind, Kind::Value(None))
                && before.text.chars().all(|c| c.is_alphabetic());
            word && head.item.gap < CLOSE && head.label.targets == [Target::Field(Field::Duty)]
        });
        let in_passing =
            kind || layout.is_sentence(head.item.span.line) || layout.is_amid_words(head);
        if taken
            || seen_from
            || in_passing
            || head.within.is_some()
            || !head.label.strong
            || head.label.certainty < 0.8
        {
            continue;
        }
        let targets: Vec<Field> = head.label.targets.iter().filter_map(field_of).collect();
        if let [field] = targets[..] {
            idle.entry(field)
                .or_insert_with(|| layout.sheet.quad(head.item.span));
        }
    }
    idle
}

/// How surely a value that needs no label is the field's where its label stands beside it.
const AT_ITS_LABEL: f64 = 0.995;

/// What stands without a label is no fact while the field's own label has a value that cannot be read:
/// `ENCL TEAO-XX ... DO NOT OPEN`.
pub(super) fn doubt_beside_idle_labels(
    fields: &mut BTreeMap<Field, FieldReading>,
    idle: &BTreeMap<Field, Quad>,
) {
    let stands_there = |label: &Quad, value: &Quad| {
        let (a, b) = (label.center(), value.center());
        (a.x - b.x).hypot(a.y - b.y) < label.height() + value.height()
    };
    for (field, reading) in fields {
        let Some(label) = idle.get(field).filter(|_| reading.label.is_none()) else {
            continue;
        };
        if stands_there(label, &reading.quad) {
            // `60/1` right below `HZ / PH`
            reading.association = reading.association.max(AT_ITS_LABEL);
        } else {
            reading
                .doubts
                .push("its label stands elsewhere, with a value that cannot be read".to_owned());
        }
    }
}

fn field_of(target: &Target) -> Option<Field> {
    match target {
        Target::Field(field) => Some(*field),
        Target::Watts => Some(Field::Kw),
        Target::MetricHp => Some(Field::Hp),
        _ => None,
    }
}
