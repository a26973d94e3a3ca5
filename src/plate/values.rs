//! The written form of each field's value: what may stand on a plate, what of it is the value itself, and
//! how usual the value is. Trade usage (common practice) unless a source is named.

use super::grammar::Grammar;
use super::lexicon::Target;
use crate::record::{Field, Value, notation};
use crate::text::Lattice;
use crate::trade;
use std::collections::HashMap;
use std::sync::LazyLock;

/// How much likelier, string by string, a value is that follows the grammar than one that does not.
/// A plate's amps are a number; that the characters are something else means that this is another place
/// or that it holds a notation of which the grammar knows nothing.
const UNGRAMMATICAL: f64 = 0.1;
/// Candidates less likely than this are not kept.
const LEAST: f64 = 1e-4;
/// A form without a blank is preferred when it is at least so likely beside the one with it.
const SEEN_BLANK: f64 = 0.2;
/// At most so many candidates are kept.
const MOST: usize = 8;

/// One way to read a place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Read {
    /// The value's characters, without unit and label.
    pub printed: String,
    /// All characters of the place.
    pub raw: String,
    pub value: Value,
    pub probability: f64,
    /// Probability of the characters as they are in `raw`, without other ways to write the same.
    alone: f64,
}

/// What a place may hold as a target's value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fit {
    /// Likeliest first, never empty.
    pub reads: Vec<Read>,
    /// Probability of all strings of the grammar together.
    pub mass: f64,
    /// How usual the likeliest value is, 0 to 1.
    pub usual: f64,
}

/// Reads `lattice` as a value of `target`; `None` where it holds none.
pub(super) fn read(target: Target, lattice: &Lattice) -> Option<Fit> {
    let found = GRAMMARS.get(&class(target))?.search(lattice);
    let mut reads: Vec<Read> = Vec::new();
    let mut mass = 0.0;
    for (raw, p) in found {
        let Some((printed, value)) = mean(target, &raw) else {
            continue;
        };
        mass += p;
        match reads
            .iter_mut()
            .find(|r| alike(target, r, &printed, &value))
        {
            Some(read) => {
                // Of the ways to write it, the likelier one; blanks that are hardly seen are none.
                let blanks = |t: &str| t.matches([' ', '.']).count();
                if blanks(&printed) < blanks(&read.printed) && p > SEEN_BLANK * read.alone {
                    (read.printed, read.raw) = (printed, raw);
                }
                read.probability += p;
                read.alone = read.alone.max(p);
            }
            None => reads.push(Read {
                printed,
                raw,
                value,
                probability: p,
                alone: p,
            }),
        }
    }
    // Probabilities sum to one over all strings; what is not in the grammar has the rest.
    let whole = mass + UNGRAMMATICAL * (1.0 - mass).max(0.0);
    for read in &mut reads {
        read.probability = (read.probability / whole).min(1.0);
    }
    reads.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let best = reads.first()?.probability;
    reads.retain(|r| r.probability >= LEAST.min(best));
    reads.truncate(MOST);
    let first = reads.first()?;
    let usual = usual(target, &first.printed, &first.value);
    Some(Fit {
        reads,
        mass: mass.min(1.0),
        usual,
    })
}

/// Whether a reading is another way to write the same: `DRIP PROOF` and `DRIPPROOF`, `2.3` and `2 .3`.
fn alike(target: Target, read: &Read, printed: &str, value: &Value) -> bool {
    let compact = |t: &str| -> String {
        t.chars()
            .filter(|c| *c != ' ')
            .flat_map(char::to_uppercase)
            .collect()
    };
    match (target, &read.value, value) {
        (_, Value::Text(_), Value::Text(_)) if is_free(target) => {
            compact(&read.printed) == compact(printed)
        }
        (Target::Field(field), Value::Text(a), Value::Text(b)) => {
            // The end of the shaft from which a rotation is seen is not in its value.
            a == b && (field != Field::Rotation || compact(&read.printed) == compact(printed))
        }
        (Target::Field(field), a, b) if a.numbers().len() > 1 => {
            a == b && notation::groups(field, &read.printed) == notation::groups(field, printed)
        }
        (_, a, b) => a == b && read.printed.len() == printed.len() || read.printed == printed,
    }
}

/// The value in the characters `raw`; `None` where they do not follow the target's grammar.
pub(super) fn mean(target: Target, raw: &str) -> Option<(String, Value)> {
    let printed = printed(target, raw)?;
    let value = match target {
        Target::Field(field) => notation::parse(field, &printed)?,
        Target::Watts => notation::parse(Field::Kw, &printed)?,
        Target::MetricHp => notation::parse(Field::Hp, &printed)?,
        Target::MaxAmps => notation::parse(Field::Amps, &printed)?,
        Target::Other(_) | Target::Mark(_) => Value::Text(printed.clone()),
    };
    Some((printed, value))
}

/// Whether `text` follows the target's grammar.
pub(super) fn accepts(target: Target, text: &str) -> bool {
    GRAMMARS
        .get(&class(target))
        .is_some_and(|g| g.accepts(text))
}

/// Whether a place may hold several values of this target, one beside or below the other.
pub(super) fn takes_several(target: Target) -> bool {
    use Field::*;
    match target {
        Target::Field(f) => matches!(
            f,
            Volts
                | Amps
                | Hp
                | Kw
                | Rpm
                | Hertz
                | ServiceFactor
                | ServiceFactorAmps
                | PowerFactor
                | NominalEfficiency
        ),
        Target::Watts | Target::MetricHp | Target::MaxAmps => true,
        Target::Other(kind) => kind.ends_with("amps"),
        Target::Mark(_) => false,
    }
}

/// Whether the value is a string of the maker's own.
pub(super) fn is_free(target: Target) -> bool {
    matches!(
        target,
        Target::Field(Field::Model | Field::Serial) | Target::Other(_)
    )
}

/// Targets that share a grammar.
fn class(target: Target) -> Target {
    match target {
        Target::MaxAmps | Target::Field(Field::ServiceFactorAmps) => Target::Field(Field::Amps),
        Target::Field(Field::Serial) => Target::Field(Field::Model),
        Target::Other(kind) => Target::Other(match kind {
            "locked_rotor_amps" | "no_load_amps" | "rated_load_amps_compressor" => "amps",
            "temperature_rise_c" => "temperature",
            "start_capacitor" => "capacitor",
            "guaranteed_efficiency" | "other_power_factor" | "other_speed" => "number",
            "weight" | "altitude" => "quantity",
            "type" => "type",
            _ => "code",
        }),
        other => other,
    }
}

static GRAMMARS: LazyLock<HashMap<Target, Grammar>> = LazyLock::new(|| {
    use Field::*;
    // Separators between ratings; the form of one number; blanks and dots around a value say nothing.
    let between = r"(?: ?[-/,&;] ?| TO | )";
    let list =
        |one: &str, unit: &str| format!(r"(?:{one})(?:{unit})?(?:{between}(?:{one})(?:{unit})?)*");
    let decimal =
        r"(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{1,3})?|\.[0-9]{1,3}|(?:0|[1-9][0-9]{0,2}),[0-9]{1,2}";
    let volt = r" ?V(?:OLTS?|LTS|AC)?\.?(?: ?AC)?| ?V\.A\.C\.?| ?[YDΔ∆△~]{1,2}| ?V ?[YDΔ∆△~]| ?AC";
    let microfarads = r" ?(?:M\.?F\.?D\.?|MF|[UµM]F\.?)";
    let power = format!(
        r"(?:[1-9][0-9]{{0,2}}[- ])?[1-9][0-9]?/[1-9][0-9]{{0,2}}|[0-9]{{0,3}} ?[½¼¾⅓⅔⅛]|{decimal}"
    );
    // A letter in front only before a number that is a frame: an `l` is not read for a 1 otherwise.
    let frame = "42|48|56|66|63|71|80|90|1(?:00|12|32|60|80)|2(?:00|25|50|80)|315|355|(?:14|18|21|25|28|32|36|40|44)[2-9]";
    let turns = r"CC?W|CLOCKWISE|(?:COUNTER|ANTI)[- ]?CLOCK(?:WISE)?";
    let end = r"(?:L\.?E\.?|S\.?E\.?|P\.?E\.?|D\.?E\.?|O\.?[SPLD]\.?E\.?|OPP\.? ?(?:L\.?E\.?|S\.?E\.?|P\.?E\.?|D\.?E\.?|END)|(?:LEAD|SHAFT|PULLEY|DRIVE) END)F?";
    let patterns: Vec<(Target, String)> = vec![
        (Target::Field(Volts), list(r"[1-9][0-9]{1,4}", volt)),
        (Target::Field(Amps), list(decimal, r" ?A(?:MPS?)?\.?(?: ?[YDΔ∆△])?| ?[YDΔ∆△]")),
        (Target::Field(Hp), list(&power, r" ?H\.?P\.?")),
        (Target::MetricHp, list(&power, r" ?(?:C\.?V|P\.?S)\.?")),
        (Target::Field(Kw), list(decimal, r" ?K\.?W\.?")),
        (Target::Watts, list(r"[1-9][0-9]{0,4}(?:[.,][0-9])?", r" ?W(?:ATTS?)?\.?")),
        (
            Target::Field(Rpm),
            list(
                r"[1-9][0-9]{2,4}|[1-9][0-9]?,[0-9]{3}",
                r" ?R\.?P\.?M\.?| ?R/MIN| ?MIN ?-1| ?1/MIN| ?/MIN",
            ),
        ),
        (
            Target::Field(Phase),
            r"[13](?: ?PH(?:ASES?|S)?\.?| ?[~Ø])?|SINGLE(?: PHASE)?|THREE(?: PHASE)?|ONE|POLYPHASE".to_owned(),
        ),
        (
            Target::Field(Hertz),
            list(r"[1-9][0-9]{1,2}", r" ?H(?:ERT)?Z\.?| ?CY(?:C(?:LES?)?)?\.?| ?CPS| ?~"),
        ),
        (
            Target::Field(ServiceFactor),
            list(r"[0-3]\.[0-9]{1,3}|\.[0-9]{1,2}|1|[01],[0-9]{1,2}", r" ?S\.?F\.?"),
        ),
        (
            Target::Field(NominalEfficiency),
            list(r"[1-9][0-9](?:[.,][0-9]{1,2})?|0?\.[0-9]{2,3}", " ?%"),
        ),
        (
            Target::Field(PowerFactor),
            list(r"0?\.[0-9]{1,3}|0,[0-9]{1,3}|[1-9][0-9](?:\.[0-9])?|1(?:[.,]0{1,2})?", " ?%"),
        ),
        (
            Target::Field(CapacitorUf),
            format!(
                r"(?:[1-9][0-9]{{0,2}}(?:\.[0-9]{{1,2}})?|0?\.[0-9]{{1,2}}|[1-9][0-9]?,[0-9]{{1,2}})(?:{microfarads})?(?: ?[-/@,]? ?[1-6][0-9][05](?: ?V(?:AC|OLTS)?\.?)?)?"
            ),
        ),
        (Target::Field(CapacitorVolts), list(r"[1-6][0-9][05]", r" ?V(?:AC|OLTS?)?\.?(?: ?AC)?")),
        (
            Target::Field(Frame),
            format!(r"(?:(?:IEC|[A-Z]{{1,2}}) ?(?:{frame})|[1-9][0-9]{{1,2}})(?: ?[A-Z]{{1,4}}(?:-?[0-9]{{1,2}})?)?(?:[-/][0-9A-Z]{{1,4}})?"),
        ),
        (Target::Field(Enclosure), enclosures()),
        (
            Target::Field(InsulationClass),
            r"(?:CL(?:ASS)?\.? ?)?(?:[ABCEFHNR](?: ?/ ?[ABEFH]|-?[0-9]{1,3})?|[0-9]{2,3} ?\( ?[ABEFHNR] ?\))".to_owned(),
        ),
        (Target::Field(Duty), duties()),
        (Target::Field(KvaCode), "[A-HJ-NP-V]".to_owned()),
        (Target::Field(Design), "[A-FLN]".to_owned()),
        (
            Target::Field(Rotation),
            format!(
                r"(?:{turns})(?:[ -/]{{0,2}}(?:\(? ?(?:FACING )?{end} ?\)?))?|CC?W ?/ ?CC?W|REV(?:ERSIBLE|ERS|ER)?\.?|EITHER(?: (?:DIR(?:ECTION)?|ROT(?:ATION)?)\.?)?|BI-?DIR(?:ECTIONAL)?|BOTH"
            ),
        ),
        (
            Target::Field(AmbientC),
            r"(?:[1-9][0-9]|1[0-9]{2})(?: ?°? ?C| ?DEG\.?(?: ?C)?| ?°)?\.?|[1-9][0-9]{1,2} ?°? ?F".to_owned(),
        ),
        (Target::Field(Model), r"[A-Z0-9#*](?:[-A-Z0-9 ./#*+()_,&]*[A-Z0-9)*])?".to_owned()),
        (Target::Other("amps"), list(decimal, r" ?A(?:MPS?)?\.?")),
        (
            Target::Other("temperature"),
            r"[1-9][0-9]{1,2}(?: ?°? ?[CFK])?(?:/[A-Z])?|[ABFH]".to_owned(),
        ),
        (
            Target::Other("capacitor"),
            format!(r"[1-9][0-9]{{1,3}}(?: ?- ?[0-9]{{2,4}})?(?:{microfarads})?(?: ?[-/@,]? ?[1-6][0-9][05](?: ?V(?:AC)?)?)?"),
        ),
        (Target::Other("number"), list(r"[0-9]{1,5}(?:\.[0-9]{1,2})?|\.[0-9]{1,3}", " ?%")),
        (
            Target::Other("quantity"),
            r"[0-9]{1,5}(?:[.,][0-9]{1,3})?(?: ?(?:LBS?|KGS?|M|FT|G|POUNDS)\.?)?".to_owned(),
        ),
        (Target::Other("type"), r"[A-Z][-A-Z0-9 ./]*|[0-9][-A-Z0-9./]*".to_owned()),
        (Target::Other("code"), r"[-A-Z ./#]*[0-9][-A-Z0-9 ./#]*".to_owned()),
    ];
    patterns
        .into_iter()
        .map(|(target, core)| {
            let pattern = format!(r"[ :.=,;_*-]*(?:{core})[ .,:;_/*-]*");
            (target, Grammar::new(&pattern))
        })
        .collect()
});

/// A spelling as a pattern: dots, dashes and blanks inside it may be there or not.
fn spelled(spelling: &str) -> String {
    let letters: Vec<String> = spelling
        .chars()
        .filter(|c| c.is_alphanumeric())
        .map(|c| c.to_uppercase().collect())
        .collect();
    letters.join("[ .-]?")
}

fn enclosures() -> String {
    let mut spellings: Vec<String> = trade::Enclosure::all()
        .iter()
        .filter(|e| e.code != "HERM" && e.code != "SP")
        .flat_map(|e| std::iter::once(e.code.as_str()).chain(e.spellings()))
        .map(spelled)
        .collect();
    spellings.sort();
    spellings.dedup();
    // IEC 60034-5 degrees of protection, IEC 60034-6 methods of cooling.
    let ip = r"IP ?[0-6][0-9][A-Z]?";
    format!(
        r"(?:{})(?:[ -/(]{{1,3}}{ip}\)?)?|{ip}(?:[ -/]{{1,3}}IC ?[0-9]{{2,3}}[A-Z]?)?",
        spellings.join("|")
    )
}

fn duties() -> String {
    let mut spellings: Vec<String> = trade::Duty::all()
        .iter()
        .flat_map(|d| std::iter::once(d.code.as_str()).chain(d.spellings()))
        .filter(|s| !s.starts_with("DUTY"))
        .map(spelled)
        .collect();
    spellings.sort();
    spellings.dedup();
    format!(
        r"(?:{})\.?(?: DUTY)?|[1-9][0-9]? ?(?:MINS?|MINUTES|HRS?|HOURS?)\.?(?: INT\.?)?|S[2-9][ -]{{0,3}}[1-9][0-9] ?(?:%|MIN)\.?",
        spellings.join("|")
    )
}

/// The characters of the value itself: without the unit, and without what the edge of a box, a colon or a
/// leader of dots leaves around it.
fn printed(target: Target, raw: &str) -> Option<String> {
    let leading_point = matches!(
        target,
        Target::Field(
            Field::Hp
                | Field::Kw
                | Field::Amps
                | Field::ServiceFactorAmps
                | Field::PowerFactor
                | Field::CapacitorUf
                | Field::ServiceFactor
                | Field::NominalEfficiency
        ) | Target::MetricHp
            | Target::MaxAmps
    );
    let noise = |c: char| " :=,;_*-".contains(c);
    let mut text = raw.trim_start_matches(noise);
    if text.starts_with('.') {
        let after = text.trim_start_matches(|c| noise(c) || c == '.');
        let decimals = after.chars().take_while(char::is_ascii_digit).count();
        let a_point = leading_point
            && text[1..] == *after
            && (1..=3).contains(&decimals)
            && !after[decimals..].starts_with(['.', '/']);
        if !a_point {
            text = after;
        }
    }
    let text = text.trim_end_matches(|c| noise(c) || c == '/');
    let dotted_end = text.trim_end_matches('.');
    // Abbreviations keep their last point where they have others: `O.D.P.`
    let text = if dotted_end.contains('.')
        && dotted_end
            .chars()
            .all(|c| c.is_ascii_alphabetic() || c == '.')
    {
        text
    } else {
        dotted_end
    };
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let without = |units: &[&str]| strip_units(&text, units);
    let printed = match target {
        Target::Field(field) => match field {
            Field::Volts => without(&["VOLTS", "VOLT", "VLTS", "V.A.C", "VAC", "V AC", "V"]),
            Field::Amps | Field::ServiceFactorAmps => without(&["AMPS", "AMP", "A"]),
            Field::Hp => without(&["H.P", "HP"]),
            Field::Kw => without(&["K.W", "KW"]),
            Field::Rpm => without(&["R.P.M", "RPM", "R/MIN", "1/MIN", "MIN -1", "MIN-1", "/MIN"]),
            Field::Phase => {
                without(&["PHASES", "PHASE", "PHS", "PH", "~", "Ø", "∼", "φ", "Φ", "ø"])
            }
            Field::Hertz => without(&[
                "HERTZ", "HZ", "CYCLES", "CYCLE", "CYC", "CY", "CPS", "~", "∼",
            ]),
            Field::ServiceFactor => without(&["S.F", "SF"]),
            Field::NominalEfficiency | Field::PowerFactor => without(&["%"]),
            Field::CapacitorUf => text.clone(),
            Field::CapacitorVolts => without(&["VOLTS", "VOLT", "VAC", "V AC", "V"]),
            Field::AmbientC if text.to_uppercase().ends_with('F') => text.clone(),
            Field::AmbientC => without(&["DEG. C", "DEG C", "DEG.C", "DEG", "C", "°", "º", "˚"])
                .trim_end_matches(['°', 'º', '˚', ' '])
                .to_owned(),
            Field::InsulationClass => {
                let upper = text.to_uppercase();
                let class = ["CLASS", "CL.", "CL"]
                    .iter()
                    .find_map(|c| upper.strip_prefix(c).map(|rest| text.len() - rest.len()));
                text[class.unwrap_or(0)..].trim_start().to_owned()
            }
            _ => text.clone(),
        },
        Target::Watts => format!("{} W", without(&["WATTS", "WATT", "W"])),
        Target::MetricHp => format!("{} PS", without(&["C.V", "CV", "P.S", "PS"])),
        Target::MaxAmps => without(&["AMPS", "AMP", "A"]),
        Target::Other(_) | Target::Mark(_) => text.clone(),
    };
    let numeric = match target {
        Target::Field(f) => !f.is_text(),
        _ => true,
    };
    let printed = if numeric { tighten(&printed) } else { printed };
    (!printed.is_empty()).then_some(printed)
}

/// Takes the unit away behind every number: `230V/460V` is `230/460`.
fn strip_units(text: &str, units: &[&str]) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(ch) = rest.chars().next() {
        let after_number = out
            .trim_end()
            .ends_with(|c: char| c.is_ascii_digit() || "½¼¾⅓⅔⅛°".contains(c));
        let unit = units.iter().find_map(|u| {
            let part = rest.get(..u.len())?;
            let next = rest[u.len()..].chars().next();
            let whole = !next.is_some_and(|c| c.is_alphabetic())
                || matches!(next, Some('Y' | 'D' | 'Δ' | '∆' | '△'));
            (part.to_uppercase() == *u && whole).then_some(u.len())
        });
        match unit {
            Some(length) if after_number => {
                out.truncate(out.trim_end().len());
                rest = rest[length..].trim_start_matches('.');
            }
            _ => {
                out.push(ch);
                rest = &rest[ch.len_utf8()..];
            }
        }
    }
    out.trim().to_owned()
}

/// Without the blanks around a separator: `208 - 230 / 460` is `208-230/460`.
fn tighten(text: &str) -> String {
    let mut out = String::new();
    let chars: Vec<char> = text.chars().collect();
    let sign = |i: usize| chars.get(i).is_some_and(|c| "-–—−/".contains(*c));
    let point = |i: usize| chars.get(i) == Some(&'.');
    for (i, &ch) in chars.iter().enumerate() {
        let beside_sign = sign(i + 1) || i.checked_sub(1).is_some_and(|b| sign(b) || point(b));
        match ch {
            ' ' if beside_sign => {}
            '–' | '—' | '−' => out.push('-'),
            _ => out.push(ch),
        }
    }
    out
}

/// How usual a value is for its target: 1 for what most plates print, little for what hardly any does.
fn usual(target: Target, printed: &str, value: &Value) -> f64 {
    let all = |test: &dyn Fn(f64) -> bool| value.numbers().iter().all(|&n| test(n));
    let graded = |typical: bool, possible: bool| match (typical, possible) {
        (true, _) => 1.0,
        (_, true) => 0.3,
        _ => 0.01,
    };
    match target {
        Target::Field(Field::Volts) => graded(
            all(&usual_volts),
            all(&|v| (24.0..=15000.0).contains(&v) && v % 5.0 == 0.0),
        ),
        Target::Field(Field::Amps | Field::ServiceFactorAmps) | Target::MaxAmps => graded(
            all(&|a| (0.1..=150.0).contains(&a)),
            all(&|a| (0.01..=1500.0).contains(&a)),
        ),
        Target::Field(Field::Hp) => graded(all(&usual_hp), all(&|h| (0.005..=1000.0).contains(&h))),
        Target::MetricHp => graded(all(&|h| (0.02..=700.0).contains(&h)), true),
        Target::Field(Field::Kw) => graded(all(&|k| (0.02..=500.0).contains(&k)), true),
        Target::Watts => graded(all(&|k| (0.002..=15.0).contains(&k)), true),
        Target::Field(Field::Rpm) => graded(
            all(&|r| (350.0..=3600.0).contains(&r)),
            all(&|r| (150.0..=20000.0).contains(&r)),
        ),
        Target::Field(Field::Hertz) => graded(
            all(&|h| h == 50.0 || h == 60.0),
            all(&|h| (15.0..=400.0).contains(&h) && h % 5.0 == 0.0),
        ),
        Target::Field(Field::ServiceFactor) => graded(
            all(&|s| (1.0..=1.5).contains(&s)),
            all(&|s| (0.8..=2.0).contains(&s)),
        ),
        Target::Field(Field::NominalEfficiency) => graded(
            all(&|e| (45.0..=98.0).contains(&e)),
            all(&|e| (0.3..100.0).contains(&e)),
        ),
        Target::Field(Field::PowerFactor) => {
            graded(all(&|p| (0.4..=1.0).contains(&p)), all(&|p| p <= 1.0))
        }
        Target::Field(Field::CapacitorUf) => {
            graded(all(&|c| (1.0..=100.0).contains(&c)), all(&|c| c <= 400.0))
        }
        Target::Field(Field::CapacitorVolts) => graded(
            all(&|v| [370.0, 440.0].contains(&v)),
            all(&|v| (165.0..=660.0).contains(&v)),
        ),
        Target::Field(Field::AmbientC) => graded(
            all(&|t| (20.0..=65.0).contains(&t)),
            all(&|t| (10.0..=120.0).contains(&t)),
        ),
        Target::Field(Field::Frame) => graded(usual_frame(printed), false).max(0.03),
        Target::Field(Field::Enclosure) => 1.0,
        Target::Field(Field::InsulationClass) => graded(
            "ABEFH".contains(printed.chars().next().unwrap_or(' ')),
            true,
        ),
        Target::Field(Field::Model | Field::Serial) => {
            let long = printed.chars().count() >= 3;
            let digit = printed.chars().any(|c| c.is_ascii_digit());
            graded(long && digit, long || digit)
        }
        Target::Other("locked_rotor_amps" | "date_code" | "weight" | "altitude" | "type") => 0.6,
        // Rolling bearings are numbered 6200, 6300 and the like.
        Target::Other("bearing_drive_end" | "bearing_opposite_end") => {
            if printed.contains("62") || printed.contains("63") || printed.contains("60") {
                0.6
            } else {
                0.1
            }
        }
        Target::Other(_) => 0.5,
        _ => 1.0,
    }
}

/// Nameplate and system voltages in use (`voltage_pairs` of the reference tables; IEC 60038).
fn usual_volts(v: f64) -> bool {
    const SERIES: &[f64] = &[
        110.0, 115.0, 120.0, 127.0, 190.0, 200.0, 208.0, 220.0, 230.0, 240.0, 265.0, 277.0, 332.0,
        346.0, 347.0, 380.0, 400.0, 415.0, 420.0, 440.0, 460.0, 480.0, 500.0, 525.0, 550.0, 575.0,
        600.0, 660.0, 690.0, 2300.0, 4000.0, 4160.0,
    ];
    SERIES.contains(&v)
}

/// Horsepower ratings in use (MG 1 10.32; fan motors' small fractions are common practice).
fn usual_hp(hp: f64) -> bool {
    const SERIES: &[f64] = &[
        0.05, 0.0625, 0.0667, 0.0833, 0.1, 0.125, 0.1667, 0.2, 0.25, 0.3333, 0.4, 0.5, 0.6, 0.75,
        0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0,
        75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0,
    ];
    SERIES.iter().any(|s| (s - hp).abs() < 0.01 * s) || [0.33, 0.17, 0.16].contains(&hp)
}

/// Frame numbers of NEMA MG 1 Part 4 and of IEC 60072-1.
pub(super) fn usual_frame(printed: &str) -> bool {
    let upper = printed.to_uppercase();
    let start = upper.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let rest = &upper[start..];
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let Ok(number) = rest[..end].parse::<u32>() else {
        return false;
    };
    const NEMA: &[u32] = &[14, 16, 18, 20, 21, 22, 25, 28, 32, 36, 40, 44, 50, 58, 68];
    const WHOLE: &[u32] = &[
        39, 42, 48, 56, 63, 66, 71, 80, 90, 100, 112, 132, 160, 180, 200, 225, 250, 280, 315, 355,
    ];
    // T shafts belong to frames of three digits.
    let suffix = rest[end..].trim_start();
    if number < 100 && suffix.starts_with('T') {
        return false;
    }
    WHOLE.contains(&number) || (number >= 100 && NEMA.contains(&(number / 10)) && number % 10 >= 2)
}
