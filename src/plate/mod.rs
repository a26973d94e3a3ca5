//! From lines of text to what a plate says: labels, values, which value belongs to which label, and how
//! likely each reading is. Knows text, the record's notation and the trade's spellings; judges nothing.

mod alone;
mod aside;
mod assign;
mod cells;
mod codes;
mod combine;
mod compound;
mod designation;
mod doubts;
mod fields;
mod forms;
mod grammar;
mod labels;
mod layout;
mod lexicon;
pub mod log;
mod parts;
mod places;
mod printed;
mod reading;
mod sheet;
mod spelling;
mod stacked;
#[cfg(test)]
mod tests;
mod usual;
mod values;

pub(crate) use codes::{REPEATED, Testimony, testimony};
pub use combine::{average, corroborate, fuse};
pub(crate) use reading::ANOTHERS;
pub use reading::{Candidate, FieldReading, Open, Other, Plate, Word, disagreement, lone_figures};

use crate::record::Field;
use crate::text::Page;
use labels::{Item, Kind};
use layout::Layout;
use lexicon::Target;
use sheet::Sheet;
use std::collections::HashSet;

/// Reads what the plate on a page says.
pub fn parse(page: &Page) -> Plate {
    let sheet = Sheet::new(page);
    let parted = compound::beside_compounds(&sheet);
    let (rated, aside) = aside::split(&sheet, &sheet.rows);
    let mut rows: Vec<Vec<Item>> = rated
        .iter()
        .map(|row| labels::items(&sheet, row, &parted))
        .collect();
    labels::letters_in_cells(&mut rows);
    stacked::in_two_lines(&mut rows);
    stacked::stacked(&mut rows);
    stacked::protection(&mut rows);
    cells::each_in_its_cell(&sheet, &mut rows);
    let layout = Layout::new(&sheet, &rows);
    let matches = assign::assign(&layout, &layout.edges());

    let (mut found, mut other) = fields::of_matches(&layout, &matches);
    let used: HashSet<(usize, usize)> = matches
        .iter()
        .flat_map(|m| &m.edge.pieces)
        .map(|&p| (layout.pieces[p].row, layout.pieces[p].at))
        .collect();
    let labelled: HashSet<Field> = found.iter().map(|f| f.field).collect();
    for (row, items) in rows.iter().enumerate() {
        for alone in alone::find(&sheet, items, &|at| !used.contains(&(row, at))) {
            // Numbers without a label speak only where no label does.
            let labelled = labelled.contains(&alone.field) && !alone.field.is_text();
            if !labelled || fields::lists_more(&found, &alone) {
                let free = |at: usize| !used.contains(&(row, at));
                found.push(fields::of_alone(&layout, row, &alone, &free));
            }
        }
    }
    if !labelled.contains(&Field::Model) {
        found.extend(designation::model_alone(&layout, &matches, &used));
    }
    if !found.iter().any(|f| f.field == Field::Volts) {
        let capacitor = found.iter().any(|f| f.field == Field::CapacitorUf);
        found.extend(fields::volts_alone(&layout, &used, capacitor));
    }
    other.extend(marks(&sheet, &rows));
    other.extend(aside);
    let mut fields = places::merge(found, &mut other);
    codes::weigh(&mut fields, &page.codes);
    let idle = fields::idle_labels(&layout, &matches);
    fields::doubt_beside_idle_labels(&mut fields, &idle);
    Plate {
        unreadable: idle
            .into_iter()
            .filter(|(field, _)| !fields.contains_key(field))
            .collect(),
        fields,
        words: words(&sheet),
        other,
        codes: page.codes.clone(),
    }
}

/// Items that say something by being there.
fn marks(sheet: &Sheet<'_>, rows: &[Vec<Item>]) -> Vec<Other> {
    let mut marks = Vec::new();
    for item in rows.iter().flatten() {
        let Kind::Label(label) = &item.kind else {
            continue;
        };
        for target in &label.targets {
            if let Target::Mark(kind) = target {
                marks.push(Other {
                    kind: (*kind).to_owned(),
                    printed: item.text.clone(),
                    quad: sheet.quad(item.span),
                });
            }
        }
    }
    marks
}

fn words(sheet: &Sheet<'_>) -> Vec<Word> {
    sheet
        .words
        .iter()
        .map(|&span| Word {
            text: sheet.text(span),
            confidence: sheet.confidence(span),
            quad: sheet.quad(span),
            lattice: sheet.lattice(span),
        })
        .collect()
}
