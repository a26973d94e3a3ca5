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
            name: "decimals without a nought, units of two ratings in one word",
            lines: grid(&[
                (0, 0, "HP"),
                (0, 1, ".5"),
                (14, 0, "CAP"),
                (14, 1, "7.5MFD/370V"),
                (34, 0, "VOLTS"),
                (34, 1, "460V"),
                (0, 2, "HZ/PH: 60/1"),
            ]),
            expected: vec![
                (Hp, ".5"),
                (CapacitorUf, "7.5"),
                (CapacitorVolts, "370"),
                (Volts, "460"),
                (Hertz, "60"),
                (Phase, "1"),
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

/// The plate of the first layout, for other views of it.
fn usual_plate() -> Vec<Line> {
    grid(&[
        (0, 0, "HP"),
        (10, 0, "1/2"),
        (24, 0, "VOLTS"),
        (36, 0, "115/208-230"),
        (0, 1, "RPM"),
        (10, 1, "1725"),
        (24, 1, "AMPS"),
        (36, 1, "7.4/3.9-3.7"),
        (0, 2, "FRAME"),
        (10, 2, "56H"),
        (24, 2, "PH"),
        (36, 2, "1"),
        (0, 3, "S.F."),
        (10, 3, "1.25"),
        (24, 3, "ENCL"),
        (36, 3, "ODP"),
    ])
}

#[test]
fn a_plate_reads_the_same_from_every_side() {
    use Field::*;
    let expected = [
        (Hp, "1/2"),
        (Volts, "115/208-230"),
        (Rpm, "1725"),
        (Amps, "7.4/3.9-3.7"),
        (Frame, "56H"),
        (Phase, "1"),
        (ServiceFactor, "1.25"),
        (Enclosure, "ODP"),
    ];
    let turned = |degrees: f32| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        move |p: Point| Point {
            x: 500.0 + p.x * cos - p.y * sin,
            y: 400.0 + p.x * sin + p.y * cos,
        }
    };
    let perspective = |p: Point| {
        let w = 1.0 + p.x * 0.0006 + p.y * 0.0004;
        Point {
            x: p.x / w,
            y: p.y / w,
        }
    };
    let bent = |p: Point| Point {
        x: p.x,
        y: p.y + 0.0004 * (p.x - 280.0).powi(2),
    };
    type View = Box<dyn Fn(Point) -> Point>;
    let views: Vec<(&str, View)> = vec![
        ("12 degrees", Box::new(turned(12.0))),
        ("-30 degrees", Box::new(turned(-30.0))),
        ("on its side", Box::new(turned(90.0))),
        ("upside down", Box::new(turned(183.0))),
        ("perspective", Box::new(perspective)),
        ("bent around a shell", Box::new(bent)),
    ];
    let mut wrong = Vec::new();
    for (name, view) in views {
        let plate = parse(&moved(page(usual_plate()), view));
        for (field, expected) in expected {
            let read = printed(&plate, field);
            if read.as_deref() != Some(expected) {
                wrong.push(format!(
                    "{name}: {} is {read:?}, not {expected:?}",
                    field.key()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

mod any_page {
    use super::*;
    use proptest::prelude::*;

    fn text() -> impl Strategy<Value = String> {
        let known = prop::sample::select(vec![
            "HP",
            "VOLTS",
            "208-230/460",
            "AMPS",
            "13.6-12.8/6.4",
            "1/2 HP",
            "60HZ",
            "115V/60HZ/1PH",
            "FR.56C",
            "MAX AMPS",
            "7.5 MFD 370 VAC",
            "TEFC",
            "S.F.",
            "1.15",
            "MODEL",
            "SER",
            "208-230/",
            "CLASS",
            "F",
            "A",
            "°C",
            "½",
            "/",
        ]);
        prop_oneof![3 => known.prop_map(str::to_owned), 1 => "\\PC{0,12}"]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn is_survived_and_no_place_is_read_twice(
            lines in prop::collection::vec((text(), prop::array::uniform8(-50.0f32..900.0)), 0..8),
            level in any::<bool>(),
        ) {
            let lines = lines.into_iter().map(|(text, c)| {
                if level {
                    line(c[0], (c[1] / 30.0).round() * 30.0, &text)
                } else {
                    let p = |i: usize| Point { x: c[2 * i], y: c[2 * i + 1] };
                    Line::new(Lattice::from_text(&text), Quad([p(0), p(1), p(2), p(3)]))
                }
            });
            let plate = parse(&page(lines.collect()));
            let places: Vec<(Field, Quad)> = plate.fields.iter().map(|(f, r)| (*f, r.quad)).collect();
            for (i, a) in places.iter().enumerate() {
                for b in &places[..i] {
                    let capacitor = [a.0, b.0] == [Field::CapacitorVolts, Field::CapacitorUf];
                    prop_assert!(a.1 != b.1 || capacitor || a.1.width() == 0.0, "{:?} {:?}", a, b);
                }
            }
            for reading in plate.fields.values() {
                let sum: f64 = reading.candidates.iter().map(|c| c.probability).sum();
                prop_assert!(sum <= 1.0 + 1e-6 && reading.association <= 1.0 + 1e-9, "{:?}", reading);
            }
        }
    }
}
