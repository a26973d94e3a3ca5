//! The written forms of each field's value. Trade usage (common practice) unless a source is named.

use super::grammar::Grammar;
use super::lexicon::Target;
use crate::record::Field;
use crate::trade;
use std::collections::HashMap;
use std::sync::LazyLock;

/// The grammar of a target's values.
pub(super) fn grammar(target: Target) -> Option<&'static Grammar> {
    GRAMMARS.get(&class(target))
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
    // IEC 60034-1, 7.3, allows for 5 and 10 %; some plates print what they stand.
    let tolerance = r"(?: ?[±+]/?-? ?[1-9][0-9]? ?%)?";
    let microfarads = r" ?(?:M\.?F\.?D\.?|MF|[UµM]F\.?)";
    // Class of operation, IEC 60252-1: `450 VDB`.
    let classes = r"(?: ?D[ABCD]| ?L)?";
    let power = format!(
        r"(?:[1-9][0-9]{{0,2}}[- ])?[1-9][0-9]?/[1-9][0-9]{{0,2}}|[0-9]{{0,3}} ?[½¼¾⅓⅔⅛]|{decimal}"
    );
    // A letter in front only before a number that is a frame: an `l` is not read for a 1 otherwise.
    let frame = "42|48|56|66|63|71|80|90|1(?:00|12|32|60|80)|2(?:00|25|50|80)|315|355|(?:14|18|21|25|28|32|36|40|44)[2-9]";
    let turns = r"C\.?(?:C\.?)?W\.?|CLOCKWISE|(?:COUNTER|ANTI)[- ]?CLOCK(?:WISE)?|C['’/]CLOCKWISE|LINKS|RECHTS|(?:ANTI[- ]?)?H?ORARIO|DESTR[AO]|SINISTR[AO]|DERECHA|IZQUIERDA|(?:ANTI)?HORAIRE|CONTRARIO A LAS MANECILLAS(?: DEL RELOJ)?";
    let end = r"(?:L\.?E\.?|S\.?E\.?|P\.?E\.?|D\.?E\.?|O\.?[SPLD]\.?E\.?|OPP\.? ?(?:L\.?E\.?|S\.?E\.?|P\.?E\.?|D\.?E\.?|END)|(?:LEAD|SHAFT|PULLEY|DRIVE|TOP|BOTTOM) END)F?";
    let patterns: Vec<(Target, String)> = vec![
        (Target::Field(Volts), list(r"(?:[YΔ∆△] ?)?[1-9][0-9]{1,4}", volt) + tolerance),
        (Target::Field(Amps), list(decimal, r" ?A(?:MPS?)?\.?(?: ?[YDΔ∆△])?| ?[YDΔ∆△]| ?[FS]\.?[LF]\.?A\.?")),
        (Target::Field(Hp), list(&power, r" ?H\.?P\.?")),
        (Target::MetricHp, list(&power, r" ?(?:C\.?V|P\.?S|PK|HK)\.?")),
        (Target::Field(Kw), list(decimal, r" ?K\.?W\.?")),
        (Target::Watts, list(r"[1-9][0-9]{0,4}(?:[.,][0-9])?", r" ?W(?:ATTS?)?\.?")),
        (
            Target::Field(Rpm),
            // A fan motor names its number of speeds behind the highest: `1075/3 SPD`.
            list(
                r"[1-9][0-9]{2,4}|[1-9][0-9]?,[0-9]{3}|[1-3] [0-9]{2}[05]",
                r" ?R\.?P\.?M\.?| ?R/MIN| ?MIN ?-1| ?1/MIN| ?/MIN",
            ) + r"(?: ?/ ?[1-6](?: ?SP(?:EE)?DS?\.?)?)?",
        ),
        (
            Target::Field(Phase),
            // A lone stroke in the place of 1 or 3 is a 1.
            r"[13](?:[ -]?PH(?:ASES?|S)?\.?|-?FAS| ?[~Ø](?: ?MOT(?:OR)?\.?)?)?|[IL|]|SINGLE(?:[ -]PHASE)?|THREE(?:[ -]PHASE)?|ONE|POLYPHASE|(?:MONO|TRI)(?:F[AÁ]SIC[OA]|FAS[E]?|PHAS[EÉ])|(?:DREH|WECHSEL)STROM(?:[-A-ZÄÖÜ]*MOTOR)?|(?:DRAAI|WISSEL)STROOM".to_owned(),
        ),
        (
            Target::Field(Hertz),
            list(r"[1-9][0-9]{1,2}", r" ?H(?:ERT)?Z\.?| ?CY(?:C(?:LES?)?)?\.?| ?CPS| ?~")
                + tolerance,
        ),
        (
            Target::Field(ServiceFactor),
            list(r"1?[0-3]\.[0-9]{1,3}|\.[0-9]{1,2}|1|[01],[0-9]{1,2}", r" ?S\.?F\.?"),
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
                r"(?:[1-9][0-9]{{0,2}}(?:\.[0-9]{{1,2}})?|0?\.[0-9]{{1,2}}|[1-9][0-9]?,[0-9]{{1,2}})(?:{microfarads})?(?: ?[-/@,]? ?[1-6][0-9][05](?: ?V(?:AC|OLTS)?\.?{classes})?)?"
            ),
        ),
        (
            Target::Field(CapacitorVolts),
            list(r"[1-6][0-9][05]", &format!(r" ?V(?:AC|OLTS?)?\.?(?: ?AC)?{classes}")),
        ),
        (
            Target::Field(Frame),
            format!(r"(?:(?:IEC|[A-Z]{{1,2}}) ?(?:{frame})|[1-9][0-9]{{1,2}})(?: ?[A-Z]{{1,4}}(?:-?[0-9]{{1,2}})?)?(?:[-/][0-9A-Z]{{1,4}})?"),
        ),
        (Target::Field(Enclosure), enclosures()),
        (
            Target::Field(InsulationClass),
            r"(?:CL(?:ASS)?\.? ?)?(?:[ABCEFHNR](?: ?/ ?[ABEFH]|-?[0-9]{2,3})?|[0-9]{2,3} ?[(\[] ?[ABEFHNR] ?[)\]])(?:[ .,]{0,2}Δ ?T)?".to_owned(),
        ),
        (Target::Field(Duty), duties()),
        // One for each speed: `G/H`.
        (Target::Field(KvaCode), "[A-HJ-NP-V](?: ?[/-] ?[A-HJ-NP-V])?".to_owned()),
        (Target::Field(Design), "[A-FLN]".to_owned()),
        (
            Target::Field(Rotation),
            format!(
                r"(?:(?:ANTI)?H?ORA(?:IRE|RIO) ?/ ?)?(?:{turns})(?:[ -/]{{0,2}}(?:\(? ?(?:FACING )?{end} ?\)?))?|CC?W ?(?:/|OR|&) ?CC?W|REV(?:ERSIBLE|ERS|ER)?\.?|EITHER(?: (?:DIR(?:ECTION)?|ROT(?:ATION)?)\.?)?|BI-?DIR(?:ECTIONAL)?|BOTH"
            ),
        ),
        (
            Target::Field(AmbientC),
            r"(?:MAX\.? ?)?(?:[1-9][0-9](?: ?°? ?C)? ?(?:(?:\.{1,3}|TO|/|-|÷)? ?\+|TO ?|\.{2,3} ?|/ ?|÷ ?))?(?:[1-9][0-9]|1[0-9]{2})(?: ?°? ?C| ?DEG\.?(?: ?C)?| ?°)?\.?|[1-9][0-9]{1,2} ?°? ?F|[1-9][0-9]{1,2} ?°? ?F[ /(]{1,3}[1-9][0-9] ?°? ?C\)?|[1-9][0-9] ?°? ?C[ /(]{1,3}[1-9][0-9]{1,2} ?°? ?F\)?".to_owned(),
        ),
        (Target::Field(Model), r"[A-Z0-9#*](?:[-A-Z0-9 ./#*+()_,&]*[A-Z0-9)*])?".to_owned()),
        (Target::Other("amps"), list(decimal, r" ?A(?:MPS?)?\.?")),
        (
            Target::Other("temperature"),
            r"[1-9][0-9]{1,2}(?: ?°? ?[CFK]| ?°)?(?:/[A-Z])?|[ABFH]".to_owned(),
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
            let pattern = format!(r"[ :.=,;_*≤<-]*(?:{core})[ .,:;_/*-]*");
            (target, Grammar::new(&pattern))
        })
        .collect()
});

/// Targets that share a grammar.
fn class(target: Target) -> Target {
    match target {
        Target::MaxAmps | Target::Field(Field::ServiceFactorAmps) => Target::Field(Field::Amps),
        Target::Field(Field::Serial) => Target::Field(Field::Model),
        Target::MaxRpm => Target::Field(Field::Rpm),
        Target::Other(kind) => Target::Other(match kind {
            "locked_rotor_amps" | "no_load_amps" | "rated_load_amps_compressor" => "amps",
            "temperature_rise_c" => "temperature",
            "start_capacitor" => "capacitor",
            "guaranteed_efficiency"
            | "other_power_factor"
            | "other_speed"
            | "input_power"
            | "lead_rating"
            | "fuse"
            | "poles" => "number",
            "weight" | "altitude" => "quantity",
            "type" => "type",
            _ => "code",
        }),
        other => other,
    }
}

/// A spelling as a pattern: dots, dashes and blanks inside a word may be there or not, and commas and strokes between words.
fn spelled(spelling: &str) -> String {
    let word = |word: &str| {
        let letters = word.chars().filter(|c| c.is_alphanumeric());
        let letters: Vec<String> = letters.map(|c| c.to_uppercase().collect()).collect();
        letters.join("[ .-]?")
    };
    let words: Vec<String> = spelling.split(' ').map(word).collect();
    words.join("[ .,/-]{0,2}")
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
    let ip = r"IP[ .-]{0,2}[0-6X][0-9X][A-Z]?";
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
        // No blank or dash stands in the figures of `24`, no dash in `S4`: `132 S-4` is a size and the poles.
        .map(|s| {
            let figures = |text: &str| text.chars().all(|c| c.is_ascii_digit());
            match s.strip_prefix('S') {
                // Duty types have figures (IEC 60034-1): the I of `SI` is a 1.
                Some("1") => "S ?[1I]".to_owned(),
                Some(kind) if figures(kind) => format!("S ?{kind}"),
                _ if figures(s) => s.to_owned(),
                _ => spelled(s),
            }
        })
        .collect();
    spellings.sort();
    spellings.dedup();
    format!(
        r"(?:{})\.?(?: DUTY)?|[1-9][0-9]? ?(?:MINS?|MINUTES|HRS?|HOURS?)\.?(?: INT\.?)?|S[2-9][ -]{{0,3}}[1-9][0-9] ?(?:%|MIN)\.?",
        spellings.join("|")
    )
}
