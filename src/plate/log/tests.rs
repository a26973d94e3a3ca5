//! Log pages set up word by word, as an engine reads them.

use super::*;
use crate::photo::Point;
use crate::text::Line;
use proptest::prelude::*;

const HEIGHT: f32 = 20.0;
const WIDE: f32 = 0.6 * HEIGHT;

fn boxed(x: f32, y: f32, text: &str) -> Line {
    let width = text.chars().count() as f32 * WIDE;
    let p = |x, y| Point { x, y };
    Line::new(
        Lattice::from_text(text),
        Quad([
            p(x, y),
            p(x + width, y),
            p(x + width, y + HEIGHT),
            p(x, y + HEIGHT),
        ]),
    )
}

/// A page typed in a fixed pitch; words with two blanks between them are boxes of their own.
fn page(lines: &[&str]) -> Page {
    let mut boxes = Vec::new();
    for (row, line) in lines.iter().enumerate() {
        let mut at = 0;
        for piece in line.split_inclusive("  ") {
            let text = piece.trim();
            if !text.is_empty() {
                let before = piece.chars().take_while(|c| *c == ' ').count();
                boxes.push(boxed(
                    40.0 + (at + before) as f32 * WIDE,
                    60.0 + row as f32 * 1.8 * HEIGHT,
                    text,
                ));
            }
            at += piece.chars().count();
        }
    }
    Page {
        lines: boxes,
        size: (2000, 1500),
        plate: None,
        codes: Vec::new(),
        rules: Vec::new(),
    }
}

fn moved(mut page: Page, to: impl Fn(Point) -> Point) -> Page {
    for line in &mut page.lines {
        line.quad = Quad(line.quad.0.map(&to));
    }
    page
}

/// The rows of a log as text: field=printed, then the other columns.
fn told(page: &Page) -> Option<Vec<String>> {
    let log = parse(page)?;
    let row = |row: &LogRow| {
        let fields =
            row.plate.fields.iter().map(|(field, reading)| {
                format!("{}={}", field.key(), reading.candidates[0].printed)
            });
        let lost = row.plate.unreadable.keys().map(|f| format!("{}?", f.key()));
        let other = row
            .other
            .iter()
            .map(|(name, text)| format!("[{name}]={text}"));
        fields
            .chain(lost)
            .chain(other)
            .collect::<Vec<_>>()
            .join(" ")
    };
    Some(log.rows.iter().map(row).collect())
}

const LOG: [&str; 7] = [
    "MOTOR LOG - NORTH PLANT",
    "UNIT     HP       VOLTS          AMPS             RPM     FRAME    SER. NO    REMARKS",
    "AHU-1    5        208-230/460    14.2-12.9/6.5    1750    184T     N541470    new belt",
    "EF 2     1/3      115/230        6.2/3.1          1725    56                  ",
    "P-3      7 1/2    460            9.6              3520    213TC    9034-17    spare on shelf",
    "P-4      10       460                             1755    215T     E793976    ",
    "page 7",
];

#[test]
fn each_row_is_a_plate_with_the_columns_of_the_header() {
    assert_eq!(
        told(&page(&LOG)).expect("a log"),
        [
            "volts=208-230/460 amps=14.2-12.9/6.5 hp=5 rpm=1750 frame=184T serial=N541470 [UNIT]=AHU-1 [REMARKS]=new belt",
            "volts=115/230 amps=6.2/3.1 hp=1/3 rpm=1725 frame=56 [UNIT]=EF 2",
            "volts=460 amps=9.6 hp=7 1/2 rpm=3520 frame=213TC serial=9034-17 [UNIT]=P-3 [REMARKS]=spare on shelf",
            "volts=460 hp=10 rpm=1755 frame=215T serial=E793976 [UNIT]=P-4",
        ]
    );
}

#[test]
fn a_second_table_has_a_header_of_its_own() {
    let lines = [
        "TAG   HP   VOLTS  RPM",
        "A-1   5    460    1750",
        "A-2   3    460    1750",
        "A-3   2    460    1750",
        "TAG   VOLTS  HP   FRAME",
        "B-1   230    1/2  56",
    ];
    let rows = told(&page(&lines)).expect("a log");
    assert_eq!(rows.len(), 4);
    assert_eq!(rows[3], "volts=230 hp=1/2 frame=56 [TAG]=B-1");
}

#[test]
fn a_cell_that_is_no_value_of_its_column_is_said_and_not_moved() {
    let lines = [
        "UNIT  HP   VOLTS  RPM    FRAME",
        "A-1   5    460    1750   184T",
        "A-2   see  460    1750   184T",
        "A-3   2    460    1750   145T",
    ];
    let rows = told(&page(&lines)).expect("a log");
    assert_eq!(rows[1], "volts=460 rpm=1750 frame=184T hp? [UNIT]=A-2");
}

#[test]
fn words_that_were_read_in_one_are_cut_at_the_border_and_doubted() {
    let mut page = page(&[
        "UNIT  HP    VOLTS  RPM    FRAME",
        "A-1   5     460    1750   184T",
        "A-2   10    460    1750   215T",
        "A-3   2     460    1750   145T",
    ]);
    // The engine saw `460    1750` of the last row as one word without a blank.
    let at = page.lines.iter().rposition(|l| l.text == "460").unwrap();
    let (volts, rpm) = (page.lines[at].quad, page.lines[at + 1].quad);
    let quad = Quad([volts.0[0], rpm.0[1], rpm.0[2], volts.0[3]]);
    let blanks = vec![vec![(crate::text::BLANK, 1.0)]; 8];
    let lattice = Lattice::concat([
        &Lattice::from_text("460"),
        &Lattice::from_steps(blanks),
        &Lattice::from_text("1750"),
    ]);
    page.lines[at] = Line::new(lattice, quad);
    page.lines.remove(at + 1);
    let log = parse(&page).expect("a log");
    let fields = &log.rows[2].plate.fields;
    assert_eq!(fields[&Field::Volts].candidates[0].printed, "460");
    assert_eq!(fields[&Field::Rpm].candidates[0].printed, "1750");
}

#[test]
fn what_is_no_log_is_none() {
    for (what, lines) in [
        (
            "the ratings of one motor on a plate",
            vec![
                "TYPE M2 112          NO 77120",
                "V      HZ    KW     MIN-1   A     COS",
                "230    50    4.0    1440    14.1  0.83",
                "400    50    4.0    1440    8.1   0.83",
                "460    60    4.6    1740    8.0   0.84",
            ],
        ),
        (
            "labels in boxes above their values",
            vec![
                "MODEL     SERIAL     FRAME   HP",
                "5K49MN    N541470    184T    5",
                "VOLTS     AMPS       RPM     PH",
                "230/460   13.2/6.6   1750    3",
                "INS       SF         DUTY    CODE",
                "F         1.15       CONT    H",
            ],
        ),
        ("a header without rows", vec!["UNIT  HP  VOLTS  RPM  FRAME"]),
        (
            "a letter",
            vec![
                "please find the list of motors",
                "that we took from the roof today",
                "with hp and volts of each one",
            ],
        ),
    ] {
        assert_eq!(told(&page(&lines)), None, "{what}");
    }
}

#[test]
fn a_page_that_leans_reads_the_same() {
    let straight = told(&page(&LOG));
    let about = |p: Point| (p.x - 600.0, p.y - 150.0);
    let turned = moved(page(&LOG), |p| {
        let (x, y) = about(p);
        let (sin, cos) = 0.03f32.sin_cos();
        Point {
            x: 600.0 + x * cos - y * sin,
            y: 150.0 + x * sin + y * cos,
        }
    });
    assert_eq!(told(&turned), straight);
    // Seen from below: what is higher up is smaller.
    let seen = moved(page(&LOG), |p| {
        let (x, y) = about(p);
        let away = 1.0 - y / 4000.0;
        Point {
            x: 600.0 + x / away + y * 0.05,
            y: 150.0 + y / away,
        }
    });
    assert_eq!(told(&seen), straight);
}

/// A table of these cells in columns wide enough for all.
fn typed(header: &[&str], rows: &[Vec<String>]) -> Vec<String> {
    let widths: Vec<usize> = (0..header.len())
        .map(|at| {
            let longest = rows.iter().map(|r| r[at].len()).max().unwrap_or(0);
            longest.max(header[at].len()) + 3
        })
        .collect();
    let line = |cells: Vec<&str>| -> String {
        let cells = cells.iter().zip(&widths);
        cells
            .map(|(cell, &width)| format!("{cell:width$}"))
            .collect()
    };
    let mut lines = vec![line(header.to_vec())];
    lines.extend(
        rows.iter()
            .map(|r| line(r.iter().map(String::as_str).collect())),
    );
    lines
}

proptest! {
    // Each case tries hundreds of leans.
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever the columns' order and however many cells are empty, a cell is read as its column's or not at all.
    #[test]
    fn no_cell_comes_under_another_header(
        order in Just(vec![0usize, 1, 2, 3, 4, 5]).prop_shuffle(),
        picks in proptest::collection::vec((0usize..3, 0usize..3, 0usize..3, 0usize..3, 0usize..3, 0usize..3, 0u8..64), 3..9),
    ) {
        let names = ["UNIT", "HP", "VOLTS", "RPM", "FRAME", "AMPS"];
        let fields = [None, Some(Field::Hp), Some(Field::Volts), Some(Field::Rpm), Some(Field::Frame), Some(Field::Amps)];
        let values = [
            ["AHU-1", "EF 22", "P-3"], ["1/2", "5", "7 1/2"], ["460", "208-230/460", "115/230"],
            ["1750", "3520", "875"], ["184T", "56", "213TC"], ["6.5", "14.2-12.9/6.5", "0.65"],
        ];
        let rows: Vec<Vec<String>> = picks.iter().map(|p| {
            let which = [p.0, p.1, p.2, p.3, p.4, p.5];
            order.iter().enumerate().map(|(at, &column)| {
                // One cell of a row may be empty.
                if p.6 as usize == at { String::new() } else { values[column][which[column]].to_owned() }
            }).collect()
        }).collect();
        let header: Vec<&str> = order.iter().map(|&c| names[c]).collect();
        let lines = typed(&header, &rows);
        let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        let log = parse(&page(&lines)).expect("a log");
        prop_assert_eq!(log.rows.len(), rows.len());
        for (row, cells) in log.rows.iter().zip(&rows) {
            for (&column, cell) in order.iter().zip(cells) {
                let Some(field) = fields[column] else { continue };
                let read = row.plate.fields.get(&field).map(|r| r.candidates[0].printed.as_str());
                let expected = Some(cell.as_str()).filter(|c| !c.is_empty());
                prop_assert_eq!(read, expected, "{} in {:?}", names[column], cells);
            }
        }
    }
}
