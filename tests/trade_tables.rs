//! Every row of the published dimension and code tables, as the CSV files give them with their sources, against the
//! typed look-up that the rest of the program uses.

use platewright::trade::{
    CodeLetter, InsulationClass, code_letter, duty, enclosure, iec_frame, insulation_class,
    nema_face, nema_frame,
};
use std::collections::HashMap;

type Row = HashMap<String, String>;

/// A column of the table, and where the look-up's answer has it.
type Column<T> = (&'static str, fn(&T) -> Option<f64>);

/// The rows of a table by column; lines that begin with `#` name the source.
fn rows(table: &str) -> Vec<Row> {
    let path = format!("{}/src/trade/data/{table}.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(path)
        .unwrap();
    let rows: Vec<Row> = reader.deserialize().collect::<Result<_, _>>().unwrap();
    assert!(rows.len() > 5, "{table}");
    rows
}

fn number(row: &Row, column: &str) -> Option<f64> {
    row[column].parse().ok()
}

/// The rows of which the look-up says something else in a column, or nothing.
fn wrong<T>(
    table: &str,
    key: &str,
    look_up: impl Fn(&str) -> Option<T>,
    columns: &[Column<T>],
) -> Vec<String> {
    let mut wrong = Vec::new();
    for row in rows(table) {
        let Some(found) = look_up(&row[key]) else {
            wrong.push(format!("{table}: {} is not found", row[key]));
            continue;
        };
        for (column, of) in columns {
            let (printed, got) = (number(&row, column), of(&found));
            if printed != got {
                wrong.push(format!(
                    "{table}: {} {column}: {printed:?}, {got:?}",
                    row[key]
                ));
            }
        }
    }
    wrong
}

#[test]
fn frames_and_faces() {
    // NEMA MG 1 4.4.1 and 4.4.4, IEC 60072-1, as read in the sources that the tables name.
    let mut all = wrong(
        "nema_frames",
        "frame",
        nema_frame,
        &[
            ("D", |f| Some(f.d.0)),
            ("2E", |f| Some(f.two_e.0)),
            ("2F", |f| Some(f.two_f.0)),
            ("BA", |f| Some(f.ba.0)),
            ("H", |f| Some(f.h.0)),
            ("U", |f| Some(f.u.0)),
            ("N-W", |f| Some(f.n_w.0)),
            ("key_width", |f| f.key_width.map(|k| k.0)),
            ("alt_2F", |f| f.alt_two_f.map(|k| k.0)),
        ],
    );
    all.extend(wrong(
        "nema_c_face",
        "frame",
        nema_face,
        &[
            ("AJ", |f| Some(f.aj.0)),
            ("AK", |f| Some(f.ak.0)),
            ("BA", |f| Some(f.ba.0)),
            ("AH", |f| Some(f.ah.0)),
            ("U", |f| Some(f.u.0)),
            ("bolts", |f| Some(f64::from(f.bolts))),
        ],
    ));
    all.extend(wrong(
        "iec_frames",
        "frame",
        iec_frame,
        &[
            ("H", |f| Some(f.h_mm)),
            ("A", |f| Some(f.a_mm)),
            ("B", |f| Some(f.b_mm)),
            ("C", |f| Some(f.c_mm)),
        ],
    ));
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn codes() {
    // NEC 430.7(B), IEC 60085, MG 1 1.25 to 1.27, IEC 60034-1.
    let mut all = wrong(
        "nec_code_letters",
        "letter",
        |letter| code_letter(letter.chars().next()?),
        &[
            ("kva_per_hp_min_inclusive", |l: &&CodeLetter| Some(l.min)),
            ("kva_per_hp_max_exclusive", |l: &&CodeLetter| l.max),
        ],
    );
    all.extend(wrong("enclosures", "code", enclosure, &[]));
    all.extend(wrong("duty_codes", "code", duty, &[]));
    for row in rows("enclosures") {
        let found = enclosure(&row["code"]).map(|e| e.code.clone());
        if found.as_ref() != Some(&row["code"]) {
            all.push(format!("enclosures: {} leads to {found:?}", row["code"]));
        }
    }
    all.extend(wrong(
        "insulation_classes",
        "class",
        // `R|C`: two letters of one class.
        |letters| insulation_class(letters.split('|').next()?),
        &[
            ("temperature_C", |c: &&InsulationClass| {
                Some(c.temperature.0)
            }),
            ("rise_sf_1_0_C", |c: &&InsulationClass| c.rise),
            ("rise_sf_above_1_C", |c: &&InsulationClass| {
                c.rise_at_service_factor
            }),
        ],
    ));
    assert!(all.is_empty(), "{}", all.join("\n"));
}
