//! Plates set up line by line: where text stands and what it reads.

use super::*;
use crate::photo::{Point, Quad};
use crate::record::Field;
use crate::text::{Lattice, Line};

/// A line of height 20 whose upper left corner stands at (x, y); a character is 12 wide.
fn line(x: f32, y: f32, text: &str) -> Line {
    boxed(x, y, 20.0, text)
}

fn boxed(x: f32, y: f32, height: f32, text: &str) -> Line {
    let width = text.chars().count() as f32 * 0.6 * height;
    let p = |x, y| Point { x, y };
    Line::new(
        Lattice::from_text(text),
        Quad([
            p(x, y),
            p(x + width, y),
            p(x + width, y + height),
            p(x, y + height),
        ]),
    )
}

fn page(lines: Vec<Line>) -> Page {
    Page {
        lines,
        size: (1000, 800),
        plate: None,
    }
}

/// The same page with every corner moved.
fn moved(mut page: Page, to: impl Fn(Point) -> Point) -> Page {
    for line in &mut page.lines {
        line.quad = Quad(line.quad.0.map(&to));
    }
    page
}

fn printed(plate: &Plate, field: Field) -> Option<String> {
    plate
        .fields
        .get(&field)
        .map(|r| r.candidates[0].printed.clone())
}

struct Case {
    name: &'static str,
    lines: Vec<Line>,
    expected: Vec<(Field, &'static str)>,
    /// Fields that must not be read.
    not: Vec<Field>,
}

fn rows(rows: &[&str]) -> Vec<Line> {
    let lines = rows.iter().enumerate();
    lines
        .map(|(i, text)| line(20.0, 20.0 + 30.0 * i as f32, text))
        .collect()
}

/// Lines at columns of 12 pixels and rows of 30.
fn grid(cells: &[(u8, u8, &str)]) -> Vec<Line> {
    let cells = cells.iter();
    cells
        .map(|&(column, row, text)| {
            line(
                20.0 + 12.0 * f32::from(column),
                20.0 + 30.0 * f32::from(row),
                text,
            )
        })
        .collect()
}

fn check(cases: Vec<Case>) {
    let mut wrong = Vec::new();
    for case in cases {
        let plate = parse(&page(case.lines));
        for (field, expected) in &case.expected {
            let read = printed(&plate, *field);
            if read.as_deref() != Some(*expected) {
                wrong.push(format!(
                    "{}: {} is {:?}, not {expected:?}",
                    case.name,
                    field.key(),
                    read
                ));
            }
        }
        for field in &case.not {
            if let Some(read) = printed(&plate, *field) {
                wrong.push(format!(
                    "{}: {} must not be read, is {read:?}",
                    case.name,
                    field.key()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn layouts_and_notations() {
    use Field::*;
    check(vec![
        Case {
            name: "labels and values in one line",
            lines: rows(&[
                "HP 5 VOLTS 208-230/460 PH 3",
                "AMPS 13.6-12.8/6.4 RPM 1750 HZ 60",
                "FRAME 184T SF 1.15 INS CL F AMB 40C",
                "ENCL TEFC DUTY CONT CODE J DES B",
            ]),
            expected: vec![
                (Hp, "5"),
                (Volts, "208-230/460"),
                (Phase, "3"),
                (Amps, "13.6-12.8/6.4"),
                (Rpm, "1750"),
                (Hertz, "60"),
                (Frame, "184T"),
                (ServiceFactor, "1.15"),
                (InsulationClass, "F"),
                (AmbientC, "40"),
                (Enclosure, "TEFC"),
                (Duty, "CONT"),
                (KvaCode, "J"),
                (Design, "B"),
            ],
            not: vec![Model, Serial, ServiceFactorAmps],
        },
        Case {
            name: "boxed grid, labels above values",
            lines: grid(&[
                (0, 0, "HP"),
                (10, 0, "VOLTS"),
                (24, 0, "AMPS"),
                (36, 0, "PH"),
                (0, 1, "1/2"),
                (10, 1, "115/230"),
                (24, 1, "7.4/3.7"),
                (36, 1, "1"),
                (0, 2, "RPM"),
                (10, 2, "HZ"),
                (24, 2, "FRAME"),
                (36, 2, "S.F."),
                (0, 3, "1725"),
                (10, 3, "60"),
                (24, 3, "56C"),
                (36, 3, "1.25"),
            ]),
            expected: vec![
                (Hp, "1/2"),
                (Volts, "115/230"),
                (Amps, "7.4/3.7"),
                (Phase, "1"),
                (Rpm, "1725"),
                (Hertz, "60"),
                (Frame, "56C"),
                (ServiceFactor, "1.25"),
            ],
            not: vec![],
        },
        Case {
            name: "values in front of their units",
            lines: rows(&[
                "1/2 HP 1075 RPM 1 PH",
                "208-230 V 3.6 A 60 HZ",
                "7.5 MFD 370 VAC",
                "AIR OVER CCWLE",
            ]),
            expected: vec![
                (Hp, "1/2"),
                (Rpm, "1075"),
                (Phase, "1"),
                (Volts, "208-230"),
                (Amps, "3.6"),
                (Hertz, "60"),
                (CapacitorUf, "7.5"),
                (CapacitorVolts, "370"),
                (Rotation, "CCWLE"),
            ],
            not: vec![Enclosure],
        },
        Case {
            name: "glued words",
            lines: rows(&[
                "HP1/2 RPM1725 SF1.15",
                "60HZ 3PH 115V 6.8A",
                "FR.56C INS.CL.B AMB40C",
                "CODEK DUTYCONT ENCLODP",
            ]),
            expected: vec![
                (Hp, "1/2"),
                (Rpm, "1725"),
                (ServiceFactor, "1.15"),
                (Hertz, "60"),
                (Phase, "3"),
                (Volts, "115"),
                (Amps, "6.8"),
                (Frame, "56C"),
                (InsulationClass, "B"),
                (AmbientC, "40"),
                (KvaCode, "K"),
                (Duty, "CONT"),
                (Enclosure, "ODP"),
            ],
            not: vec![],
        },
        Case {
            name: "traps: numbers of other items",
            lines: rows(&[
                "FLA 6.8 LRA 38 SFA 7.9",
                "BRG DE 6205 ODE 6203",
                "START CAP 108-130 MFD",
                "TEMP RISE 80 C ALT 3300",
                "DATE CODE 0412 WT 42 LBS",
                "CLASS I GROUP D",
            ]),
            expected: vec![(Amps, "6.8"), (ServiceFactorAmps, "7.9")],
            not: vec![
                Rpm,
                CapacitorUf,
                AmbientC,
                Serial,
                KvaCode,
                InsulationClass,
                Volts,
                Hp,
            ],
        },
        Case {
            name: "one current per voltage in a table",
            lines: grid(&[
                (0, 0, "VOLTS"),
                (12, 0, "208"),
                (20, 0, "230"),
                (28, 0, "460"),
                (0, 1, "AMPS"),
                (12, 1, "13.6"),
                (20, 1, "12.8"),
                (28, 1, "6.4"),
                (0, 2, "HP"),
                (12, 2, "5"),
            ]),
            expected: vec![(Volts, "208/230/460"), (Amps, "13.6/12.8/6.4"), (Hp, "5")],
            not: vec![],
        },
        Case {
            name: "a value split over two lines",
            lines: grid(&[
                (0, 0, "VOLTS"),
                (8, 0, "208-230/"),
                (8, 1, "460"),
                (0, 2, "HP"),
                (8, 2, "3"),
            ]),
            expected: vec![(Volts, "208-230/460"), (Hp, "3")],
            not: vec![],
        },
        Case {
            name: "IEC table with a row a rating",
            lines: grid(&[
                (0, 0, "V"),
                (12, 0, "Hz"),
                (20, 0, "min-1"),
                (30, 0, "kW"),
                (38, 0, "cosφ"),
                (46, 0, "A"),
                (0, 1, "230"),
                (12, 1, "50"),
                (20, 1, "1430"),
                (30, 1, "1.5"),
                (38, 1, "0.79"),
                (46, 1, "5.9"),
                (0, 2, "400"),
                (12, 2, "50"),
                (20, 2, "1430"),
                (30, 2, "1.5"),
                (38, 2, "0.79"),
                (46, 2, "3.4"),
                (0, 3, "IP 55"),
                (12, 3, "Th.Cl. F"),
            ]),
            expected: vec![
                (Volts, "230/400"),
                (Amps, "5.9/3.4"),
                (Hertz, "50"),
                (Rpm, "1430"),
                (Kw, "1.5"),
                (PowerFactor, "0.79"),
                (Enclosure, "IP 55"),
                (InsulationClass, "F"),
            ],
            not: vec![],
        },
        Case {
            name: "model and serial only beside their labels",
            lines: rows(&[
                "MODEL KX4512-B2",
                "SERIAL NO 22 10457",
                "AC MOTOR",
                "TYPE PSC",
            ]),
            expected: vec![(Model, "KX4512-B2"), (Serial, "22 10457")],
            not: vec![Frame, Amps],
        },
    ]);
}
