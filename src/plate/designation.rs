//! The maker's designation of a motor where no label announces it, and numbers of parts, which may be it.

use super::assign::Match;
use super::fields::{Found, candidates, is_coded, quad};
use super::layout::{BLANK, COLUMN_GAP, Layout, Piece};
use super::lexicon::Target;
use super::reading::FieldReading;
use super::sheet::Span;
use super::values;
use crate::record::Field;
use std::collections::HashSet;

/// Below this probability characters are not taken for a designation.
const LEAST: f64 = 1e-4;

/// The maker's designation behind the number of phases and the word for a motor, as plates by IEC 60034-1 (10.2) begin:
/// `3~ Mot. NVA 132 SM4 J`.
pub(super) fn designation(layout: &Layout<'_>) -> Vec<usize> {
    let phases = |text: &str| text.contains('~');
    let motor = |text: &str| {
        let word = text.trim_start_matches(['1', '3', '~', '-', ' ']);
        ["MOT", "MOTOR"].contains(&word.trim_end_matches('.').to_uppercase().as_str())
    };
    let of_row = |number: usize| -> Option<Vec<usize>> {
        let row = &layout.rows[number];
        let at = row.iter().position(|item| motor(&item.text))?;
        // `Mot. 3~` as well.
        let behind = row.get(at + 1).is_some_and(|next| phases(&next.text));
        if !behind && !row[..=at].iter().any(|item| phases(&item.text)) {
            return None;
        }
        let start = at + 1 + usize::from(behind);
        let run: Vec<usize> = (start..row.len())
            .take_while(|&i| i == start || row[i].gap < BLANK)
            .map_while(|i| layout.piece_at(number, i))
            .collect();
        let texts = run.iter().map(|&p| layout.pieces[p].item.text.as_str());
        is_coded(&texts.collect::<Vec<_>>().join(" ")).then_some(run)
    };
    (0..layout.rows.len()).find_map(of_row).unwrap_or_default()
}

/// The maker's designation that stands on a plate without a label: behind the word for a motor, or else the largest there
/// is. That is a fact only where it is the only one, stands apart from all else that belongs to nothing, and none stands behind TYPE.
pub(super) fn model_alone(
    layout: &Layout<'_>,
    matches: &[Match],
    used: &HashSet<(usize, usize)>,
) -> Option<Found> {
    /// How surely what stands behind the word for a motor is its model, or the only designation of a plate, and how surely
    /// any other.
    const NAMED: f64 = 0.985;
    const LIKELY: f64 = 0.6;
    let free = |p: &usize| {
        let piece = &layout.pieces[*p];
        !used.contains(&(piece.row, piece.at))
    };
    let height = |p: &usize| layout.pieces[*p].item.place.height;
    let named = designation(layout);
    let (pieces, doubts) = if !named.is_empty() && named.iter().all(free) {
        (named, Vec::new())
    } else {
        let likely: Vec<usize> = (0..layout.pieces.len())
            .filter(|p| free(p) && is_model_alone(layout, *p))
            .collect();
        let largest = *likely
            .iter()
            .max_by(|a, b| height(a).total_cmp(&height(b)).then(b.cmp(a)))?;
        let only = likely.len() == 1 && stands_apart(layout, largest, &free) && !is_typed(matches);
        let doubt = "nothing says that this is the model".to_owned();
        (
            vec![largest],
            (!only).then_some(doubt).into_iter().collect(),
        )
    };
    let spans: Vec<Span> = pieces.iter().map(|&p| layout.pieces[p].item.span).collect();
    let lattice = super::layout::joined(layout.sheet, &spans, " ");
    let fit = values::read(Target::Field(Field::Model), &lattice, LEAST)?;
    let place = layout.fill(&pieces);
    Some(Found {
        field: Field::Model,
        reading: FieldReading {
            candidates: candidates(&fit.reads),
            association: if doubts.is_empty() { NAMED } else { LIKELY },
            label: None,
            quad: quad(layout, &pieces),
            doubts,
            claims: Vec::new(),
            open: None,
            seconded: None,
        },
        relation: None,
        at: (place.center(), place.y, place.height),
        usual: true,
        strange: false,
        said: false,
    })
}

/// Whether no word stands close beside a piece that may be a part of it, or name it: of `VE4E-350 S` the last letter may be
/// one, and `Rectifier RG-400` is no motor. Words of which `free` does not hold are values, figures if they are no parts.
fn stands_apart(layout: &Layout<'_>, piece: usize, free: &impl Fn(&usize) -> bool) -> bool {
    let Piece { item, row, at } = layout.pieces[piece];
    let loose = |at: usize| {
        let beside = layout.piece_at(row, at);
        beside.is_some_and(|p| {
            let figures = layout.pieces[p]
                .item
                .text
                .starts_with(|c: char| c.is_ascii_digit());
            free(&p) || !figures
        })
    };
    let before = item.gap < BLANK && at.checked_sub(1).is_some_and(loose);
    let next = layout.rows[row].get(at + 1);
    let behind = next.is_some_and(|next| next.gap < COLUMN_GAP) && loose(at + 1);
    !before && !behind
}

/// Whether a label announces the number of a part or a style, which may be the motor's model where it has no other.
pub(super) fn is_part(label: &str) -> bool {
    let key: String = super::lexicon::key(label).into_iter().collect();
    [
        "P/N", "PN", "PART", "PROD", "ART", "ITEM", "ORDER", "REF", "STYLE",
    ]
    .iter()
    .any(|word| key.contains(word))
}

/// Whether a code stands behind TYPE, and no word for a kind of winding: it has figures or a dash.
pub(super) fn is_typed(matches: &[Match]) -> bool {
    let code = |c: char| c.is_ascii_digit() || c == '-';
    let mut types = matches
        .iter()
        .filter(|m| m.edge.target == Target::Other("type"));
    types.any(|m| m.edge.fit.reads[0].printed.contains(code))
}

/// Whether a code that belongs to nothing looks like the motor's model.
pub(super) fn is_unlabelled(layout: &Layout<'_>, used: &HashSet<usize>) -> bool {
    (0..layout.pieces.len()).any(|p| !used.contains(&p) && is_model_alone(layout, p))
}

/// Whether the parts of a word are the number of a standard, `PN-72/E-06000`.
fn is_standard(parts: &[&str]) -> bool {
    const BODIES: &[&str] = &[
        "ANSI", "AS", "BS", "CNS", "CSA", "DIN", "EN", "GB", "GOST", "IEC", "IEEE", "IS", "ISO",
        "JB", "JEC", "JIS", "KS", "NBR", "NEMA", "NF", "NFPA", "NOM", "NTC", "PN", "SANS", "SNI",
        "UL", "UNE", "VDE",
    ];
    let figures = |part: &&str| {
        let number = part.split('/').next().unwrap_or_default();
        !number.is_empty() && number.chars().all(|c| c.is_ascii_digit())
    };
    parts.first().is_some_and(|body| BODIES.contains(body)) && parts.get(1).is_some_and(figures)
}

/// Whether a word by itself looks like a maker's designation: letters and figures with dashes, `KF-1075-2B`.
fn is_model_alone(layout: &Layout<'_>, piece: usize) -> bool {
    let item = layout.pieces[piece].item;
    let text = item.text.trim_matches(['.', ',', ':', '(', ')']);
    let counted = |is: fn(&char) -> bool| text.chars().filter(is).count();
    let letters = counted(char::is_ascii_uppercase);
    let whole = letters + counted(char::is_ascii_digit) + text.matches(['-', '/']).count();
    let parts: Vec<&str> = text.split('-').collect();
    text.len() >= 6
        && whole == text.len()
        && letters >= 2
        && counted(char::is_ascii_digit) >= 2
        && parts.len() > 1
        && text.starts_with(|c: char| c.is_ascii_uppercase())
        && !is_standard(&parts)
        && !super::parts::is_lead(text)
        && super::parts::unit(text).is_none()
        && !layout.is_sentence(item.span.line)
}
