//! Plates set up line by line: where text stands and what it reads.

mod cells;
mod layouts;
mod makers_numbers;
mod wordings;

use super::*;
use crate::photo::{Point, Quad, Segment};
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
        codes: Vec::new(),
        rules: Vec::new(),
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
fn a_lone_stroke_is_survived() {
    assert_eq!(parse(&page(rows(&["/"]))).fields.len(), 0);
}

#[test]
fn layouts_and_notations() {
    use Field::*;
    check(vec![
        Case {
            name: "values that say by themselves what they are",
            lines: rows(&["208-230/460", "60/3", "TEFC", "HP 5", "1725", "89.5%"]),
            expected: vec![
                (Volts, "208-230/460"),
                (Hertz, "60"),
                (Phase, "3"),
                (Hp, "5"),
                (Rpm, "1725"),
                (NominalEfficiency, "89.5"),
            ],
            not: vec![],
        },
        Case {
            name: "wide columns of small print",
            lines: grid(&[
                (0, 0, "HP"),
                (30, 0, "7.5"),
                (0, 1, "VOLTS"),
                (30, 1, "230/460"),
                (0, 2, "R.P.M."),
                (30, 2, "1770"),
                (0, 3, "DES."),
                (30, 3, "B"),
            ]),
            expected: vec![
                (Hp, "7.5"),
                (Volts, "230/460"),
                (Rpm, "1770"),
                (Design, "B"),
            ],
            not: vec![],
        },
        Case {
            name: "other uses are not the rating",
            lines: rows(&[
                "HP 3 RPM 1755 S.F. 1.15",
                "VOLTS 230/460 HZ 60",
                "USABLE ON 50HZ 190/380V 2.5HP 1445RPM SF 1.0",
            ]),
            expected: vec![
                (Hp, "3"),
                (Rpm, "1755"),
                (ServiceFactor, "1.15"),
                (Volts, "230/460"),
                (Hertz, "60"),
            ],
            not: vec![],
        },
        Case {
            name: "blanks around the stroke, a letter before a range, from frost to heat",
            lines: rows(&["HZ/PH 60 / 1", "V200-230", "-25...+60°C"]),
            expected: vec![
                (Hertz, "60"),
                (Phase, "1"),
                (Volts, "200-230"),
                (AmbientC, "60"),
            ],
            not: vec![],
        },
        Case {
            name: "a number of the maker's ends where the enclosure begins",
            lines: rows(&["SERIAL S207364 IP IP55", "ENCL O D P"]),
            expected: vec![(Serial, "S207364"), (Enclosure, "ODP")],
            not: vec![],
        },
        Case {
            name: "a half-read label with its number sign",
            lines: rows(&["MOCEL NO NV8772-U", "HP 5"]),
            expected: vec![(Model, "NV8772-U"), (Hp, "5")],
            not: vec![Serial],
        },
        Case {
            name: "a long value over a short label",
            lines: grid(&[
                (0, 0, "OPEN AIR OVER"),
                (20, 0, "REVERSIBLE"),
                (40, 0, "50C"),
                (0, 1, "ENCL."),
                (20, 1, "ROTATION"),
                (40, 1, "MAX AMB"),
            ]),
            expected: vec![(Enclosure, "OPEN AIR OVER"), (Rotation, "REVERSIBLE")],
            not: vec![],
        },
        Case {
            name: "labels below their values, a lone letter among them",
            lines: grid(&[
                (0, 0, "7 1/2"),
                (12, 0, "1750"),
                (24, 0, "H"),
                (0, 1, "HP"),
                (12, 1, "RPM"),
                (24, 1, "CODE"),
                (0, 3, "60"),
                (12, 3, "3"),
                (24, 3, "F"),
                (0, 4, "HERTZ"),
                (12, 4, "PHASE"),
                (24, 4, "INSUL"),
            ]),
            expected: vec![(Hp, "7 1/2"), (KvaCode, "H"), (InsulationClass, "F")],
            not: vec![],
        },
        Case {
            name: "a fraction of a horsepower is no supply",
            lines: rows(&["HP 1/60", "VOLTS 115", "3/60"]),
            expected: vec![(Hp, "1/60"), (Volts, "115"), (Phase, "3"), (Hertz, "60")],
            not: vec![],
        },
        Case {
            name: "the degree of protection behind its own letters",
            lines: rows(&["SIZE 90S", "IP IP55", "DUTY S S1"]),
            expected: vec![(Frame, "90S"), (Enclosure, "IP55"), (Duty, "S1")],
            not: vec![],
        },
        Case {
            name: "an IEC mounting code is no insulation class",
            lines: rows(&["ISO.CL. B3", "IM B3", "PH 3"]),
            expected: vec![(Phase, "3")],
            not: vec![InsulationClass],
        },
        Case {
            name: "the number of speeds behind the speed",
            lines: rows(&["RPM 1075/3 SPD", "VOLTS 230", "HP 1/2"]),
            expected: vec![(Rpm, "1075"), (Volts, "230"), (Hp, "1/2")],
            not: vec![],
        },
        Case {
            name: "the number of speeds in a box",
            lines: grid(&[
                (0, 0, "SPEED"),
                (14, 0, "VOLTAGE"),
                (0, 1, "1100/4 SPD"),
                (14, 1, "277"),
            ]),
            expected: vec![(Rpm, "1100"), (Volts, "277")],
            not: vec![],
        },
        Case {
            name: "a capacitor in words",
            lines: rows(&["FRAME 48Y", "CAPACITOR 5 MFD 370 V", "ROTATION CCWSE"]),
            expected: vec![(CapacitorUf, "5"), (CapacitorVolts, "370"), (Frame, "48Y")],
            not: vec![Volts],
        },
        Case {
            name: "a capacitor in short",
            lines: rows(&["CAP REQ 12.5 uF 370 V"]),
            expected: vec![(CapacitorUf, "12.5"), (CapacitorVolts, "370")],
            not: vec![Volts],
        },
        Case {
            name: "a capacitor with a colon",
            lines: rows(&["ROT: REV", "CAP: 5 µF 370 VAC", "HZ: 60"]),
            expected: vec![(CapacitorUf, "5"), (CapacitorVolts, "370"), (Hertz, "60")],
            not: vec![Volts],
        },
        Case {
            name: "a capacitor with its units in the label",
            lines: rows(&["AMB 50 C", "CAP MFD/V 10/440"]),
            expected: vec![(CapacitorUf, "10"), (CapacitorVolts, "440")],
            not: vec![Volts],
        },
        Case {
            name: "a capacitor of MF",
            lines: rows(&[
                "INSUL B AMBIENT 50°C",
                "CAP. 10 MF 370 VAC",
                "ROTATION CWLE",
            ]),
            expected: vec![(CapacitorUf, "10"), (CapacitorVolts, "370")],
            not: vec![Volts],
        },
        Case {
            name: "a compound label below its values",
            lines: grid(&[
                (0, 0, "1/2"),
                (14, 0, "60/1"),
                (28, 0, "1725"),
                (0, 1, "HP"),
                (14, 1, "HZ/PH"),
                (28, 1, "RPM"),
            ]),
            expected: vec![(Hertz, "60"), (Phase, "1"), (Hp, "1/2"), (Rpm, "1725")],
            not: vec![],
        },
        Case {
            name: "a table of two frequencies",
            lines: grid(&[
                (0, 0, "V"),
                (16, 0, "HZ"),
                (24, 0, "HP"),
                (32, 0, "RPM"),
                (42, 0, "A"),
                (0, 1, "230/460"),
                (16, 1, "60"),
                (24, 1, "5"),
                (32, 1, "1750"),
                (42, 1, "13.1/6.5"),
                (0, 2, "190/380"),
                (16, 2, "50"),
                (24, 2, "5"),
                (32, 2, "1445"),
                (42, 2, "16.2/8.1"),
            ]),
            expected: vec![
                (Volts, "230/460 190/380"),
                (Hertz, "60 50"),
                (Hp, "5"),
                (Rpm, "1750 1445"),
                (Amps, "13.1/6.5 16.2/8.1"),
            ],
            not: vec![],
        },
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
            expected: vec![(Volts, "208 230 460"), (Amps, "13.6 12.8 6.4"), (Hp, "5")],
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
                (Volts, "230 400"),
                (Amps, "5.9 3.4"),
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
            name: "labels below their values",
            lines: grid(&[
                (0, 0, "1/2"),
                (12, 0, "1725"),
                (24, 0, "115"),
                (36, 0, "56H"),
                (0, 1, "HP"),
                (12, 1, "RPM"),
                (24, 1, "VOLTS"),
                (36, 1, "FRAME"),
                (0, 4, "7.4"),
                (12, 4, "60"),
                (24, 4, "1.25"),
                (0, 5, "AMPS"),
                (12, 5, "HERTZ"),
                (24, 5, "S.F."),
            ]),
            expected: vec![
                (Hp, "1/2"),
                (Rpm, "1725"),
                (Volts, "115"),
                (Frame, "56H"),
                (Amps, "7.4"),
                (Hertz, "60"),
                (ServiceFactor, "1.25"),
            ],
            not: vec![],
        },
        Case {
            name: "small labels in the corners of their cells, values large and aside",
            lines: vec![
                boxed(20.0, 20.0, 12.0, "HP"),
                boxed(70.0, 34.0, 24.0, "7.5"),
                boxed(160.0, 20.0, 12.0, "RPM"),
                boxed(210.0, 34.0, 24.0, "1750"),
                boxed(320.0, 20.0, 12.0, "VOLTS"),
                boxed(350.0, 34.0, 24.0, "208-230/460"),
                boxed(20.0, 70.0, 12.0, "F.L. AMPS"),
                boxed(40.0, 84.0, 24.0, "22-20/10"),
                boxed(320.0, 70.0, 12.0, "INS CL"),
                boxed(380.0, 84.0, 24.0, "F"),
            ],
            expected: vec![
                (Hp, "7.5"),
                (Rpm, "1750"),
                (Volts, "208-230/460"),
                (Amps, "22-20/10"),
                (InsulationClass, "F"),
            ],
            not: vec![],
        },
        Case {
            name: "labels that share a cell, values below",
            lines: grid(&[
                (0, 0, "H.P."),
                (8, 0, "VOLTS"),
                (24, 0, "HZ/PH"),
                (0, 1, "1/3"),
                (8, 1, "115/230"),
                (24, 1, "60/1"),
            ]),
            expected: vec![(Hp, "1/3"), (Volts, "115/230"), (Hertz, "60"), (Phase, "1")],
            not: vec![],
        },
        Case {
            name: "rows of two frequencies",
            lines: grid(&[
                (0, 0, "HZ"),
                (8, 0, "V"),
                (22, 0, "HP"),
                (28, 0, "A"),
                (42, 0, "RPM"),
                (0, 1, "60"),
                (8, 1, "230/460"),
                (22, 1, "7.5"),
                (28, 1, "18/9"),
                (42, 1, "1750"),
                (0, 2, "50"),
                (8, 2, "190/380"),
                (22, 2, "7.5"),
                (28, 2, "22/11"),
                (42, 2, "1445"),
            ]),
            expected: vec![
                (Hertz, "60 50"),
                (Volts, "230/460 190/380"),
                (Hp, "7.5"),
                (Amps, "18/9 22/11"),
                (Rpm, "1750 1445"),
            ],
            not: vec![],
        },
        Case {
            name: "several powers, one unit each",
            lines: rows(&[
                "115 V 60 HZ 1 PH",
                "1/2 HP 7.4 A",
                "1/3 HP 5.2 A",
                "1/4 HP 3.9 A",
            ]),
            expected: vec![(Volts, "115"), (Hp, "1/2/1/3/1/4"), (Amps, "7.4/5.2/3.9")],
            not: vec![],
        },
        Case {
            name: "maximum amps beside full-load amps",
            lines: rows(&["HP 1", "AMPS 12.0/6.0", "MAX AMPS 14.4/7.2", "S.F. 1.4"]),
            expected: vec![
                (Hp, "1"),
                (Amps, "12.0/6.0"),
                (ServiceFactorAmps, "14.4/7.2"),
                (ServiceFactor, "1.4"),
            ],
            not: vec![],
        },
        Case {
            name: "watts, metric horsepower",
            lines: rows(&[
                "OUTPUT W 120",
                "230V 50HZ 0.9A",
                "1350 MIN-1",
                "COND 4 uF 450V",
            ]),
            expected: vec![
                (Kw, "120 W"),
                (Volts, "230"),
                (Hertz, "50"),
                (Amps, "0.9"),
                (Rpm, "1350"),
                (CapacitorUf, "4"),
                (CapacitorVolts, "450"),
            ],
            not: vec![Hp],
        },
        Case {
            name: "efficiency and power factor, guaranteed and nominal",
            lines: rows(&[
                "NEMA NOM EFF 91.7 GUAR EFF 90.2",
                "P.F. 0.82 CODE G DES B",
                "MAX KVAR 3.5",
            ]),
            expected: vec![
                (NominalEfficiency, "91.7"),
                (PowerFactor, "0.82"),
                (KvaCode, "G"),
                (Design, "B"),
            ],
            not: vec![],
        },
        Case {
            name: "words, not abbreviations",
            lines: rows(&[
                "HORSEPOWER 3",
                "VOLTAGE 230/460",
                "FULL LOAD AMPS 9.2/4.6",
                "FREQUENCY 60",
                "THREE PHASE",
                "SERVICE FACTOR 1.15",
                "INSULATION CLASS B",
                "MAX AMBIENT 40 C",
                "ENCLOSURE DRIP PROOF",
                "TIME RATING CONTINUOUS",
                "ROTATION REVERSIBLE",
            ]),
            expected: vec![
                (Hp, "3"),
                (Volts, "230/460"),
                (Amps, "9.2/4.6"),
                (Hertz, "60"),
                (Phase, "THREE"),
                (ServiceFactor, "1.15"),
                (InsulationClass, "B"),
                (AmbientC, "40"),
                (Enclosure, "DRIP PROOF"),
                (Duty, "CONTINUOUS"),
                (Rotation, "REVERSIBLE"),
            ],
            not: vec![],
        },
        Case {
            name: "ratings in one word",
            lines: rows(&["115V/60HZ/1PH 1/4HP", "1550RPM 4.5A", "CAP 5/370"]),
            expected: vec![
                (Volts, "115"),
                (Hertz, "60"),
                (Phase, "1"),
                (Hp, "1/4"),
                (Rpm, "1550"),
                (Amps, "4.5"),
                (CapacitorUf, "5"),
                (CapacitorVolts, "370"),
            ],
            not: vec![],
        },
        Case {
            name: "codes with a letter that is a unit elsewhere",
            lines: rows(&["CODE A DES A INS A", "V: 120 A: 2.4 W: 90"]),
            expected: vec![
                (KvaCode, "A"),
                (Design, "A"),
                (InsulationClass, "A"),
                (Volts, "120"),
                (Amps, "2.4"),
                (Kw, "90 W"),
            ],
            not: vec![],
        },
        Case {
            name: "values without any label",
            lines: rows(&["TEFC", "CONT", "CW/CCW", "THERMALLY PROTECTED", "145TC"]),
            expected: vec![
                (Enclosure, "TEFC"),
                (Duty, "CONT"),
                (Rotation, "CW/CCW"),
                (Frame, "145TC"),
            ],
            not: vec![Model, Serial, Amps],
        },
        Case {
            name: "two degrees of telling the enclosure",
            lines: rows(&["ENCL TEFC", "IP55", "FRAME 132S"]),
            expected: vec![(Enclosure, "TEFC"), (Frame, "132S")],
            not: vec![],
        },
        Case {
            name: "several numbers of the maker's",
            lines: rows(&[
                "PART NO 88-1234",
                "CAT NO K4410",
                "MODEL 5KX39PN",
                "SER NO A12B",
                "PAT NO 4,123,456",
            ]),
            expected: vec![(Model, "5KX39PN"), (Serial, "A12B")],
            not: vec![],
        },
        Case {
            name: "a wiring diagram beside the ratings",
            lines: grid(&[
                (0, 0, "VOLTS 230/460"),
                (40, 0, "LOW VOLTS"),
                (54, 0, "HIGH VOLTS"),
                (0, 1, "AMPS 9.2/4.6"),
                (40, 1, "1 2 3"),
                (54, 1, "4 5 6"),
                (0, 2, "RPM 1745"),
                (40, 2, "L1 L2 L3"),
                (54, 2, "7 8 9"),
            ]),
            expected: vec![(Volts, "230/460"), (Amps, "9.2/4.6"), (Rpm, "1745")],
            not: vec![Phase, Hertz, Hp],
        },
        Case {
            name: "unit plate around the motor",
            lines: rows(&[
                "RLA 18.6 LRA 105",
                "MCA 24.5 MOCP 40",
                "FAN MOTOR FLA 1.4 HP 1/4",
            ]),
            expected: vec![(Amps, "1.4"), (Hp, "1/4")],
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

/// A text in which some characters compete with others: `("l84T", &[(0, '1', 0.4)])`.
fn uncertain(text: &str, rivals: &[(usize, char, f32)]) -> Lattice {
    let chars: Vec<char> = text.chars().collect();
    Lattice::from_steps(chars.iter().enumerate().flat_map(|(i, &ch)| {
        let mut step: Vec<(char, f32)> = rivals
            .iter()
            .filter(|r| r.0 == i)
            .map(|r| (r.1, r.2))
            .collect();
        let rest: f32 = step.iter().map(|s| s.1).sum();
        step.push((ch, 0.9999 - rest));
        [step, vec![(crate::text::BLANK, 0.9999)]]
    }))
}

fn with_lattice(mut line: Line, lattice: Lattice) -> Line {
    line = Line::new(lattice, line.quad);
    line
}

#[test]
fn the_grammar_chooses_among_what_the_lattice_holds() {
    let label = || line(20.0, 20.0, "FRAME");
    let value = with_lattice(
        line(120.0, 20.0, "l84T"),
        uncertain("l84T", &[(0, '1', 0.4), (3, '7', 0.1)]),
    );
    let plate = parse(&page(vec![label(), value]));
    let frame = &plate.fields[&Field::Frame];
    assert_eq!(frame.candidates[0].printed, "184T");
    // More than the lattice says, since a frame begins with a digit; less than sure, since it read a letter.
    let p = frame.candidates[0].probability;
    assert!((0.4..0.97).contains(&p), "{p}");
}

#[test]
fn a_point_that_is_hardly_seen_gives_two_candidates() {
    let value = with_lattice(
        line(120.0, 20.0, "6.8"),
        uncertain("6.8", &[(1, crate::text::BLANK, 0.45)]),
    );
    let plate = parse(&page(vec![line(20.0, 20.0, "AMPS"), value]));
    let printed: Vec<&str> = plate.fields[&Field::Amps]
        .candidates
        .iter()
        .map(|c| c.printed.as_str())
        .collect();
    assert_eq!(printed, ["6.8", "68"]);
}

#[test]
fn half_lost_labels_are_found_by_what_the_lattice_nearly_read() {
    let label = with_lattice(line(20.0, 20.0, "RPN"), uncertain("RPN", &[(2, 'M', 0.2)]));
    let plate = parse(&page(vec![
        label,
        line(120.0, 20.0, "1725"),
        line(20.0, 50.0, "VOLTAGF 230"),
    ]));
    assert_eq!(printed(&plate, Field::Rpm).as_deref(), Some("1725"));
    assert_eq!(printed(&plate, Field::Volts).as_deref(), Some("230"));
}

#[test]
fn structural_doubts_are_told() {
    let doubts = |lines: &[&str], field: Field| {
        parse(&page(rows(lines)))
            .fields
            .get(&field)
            .map(|r| r.doubts.join("; "))
            .unwrap_or_default()
    };
    let twice = parse(&page(rows(&["VOLTS 230", "AMPS 3.2", "", "AMPS 4.1"])));
    let said = twice.fields[&Field::Amps].claims.iter();
    assert_eq!(
        said.map(|c| &*c.printed).collect::<Vec<_>>(),
        ["3.2", "4.1"]
    );
    assert!(doubts(&["VOLTS 208-230/"], Field::Volts).contains("cut off"));
    let open = |line: &str, field: Field| parse(&page(rows(&[line]))).fields[&field].open;
    assert_eq!(
        open("MAX AMPS 9.8", Field::Amps),
        Some(Open::FullLoadOrServiceFactor)
    );
    assert_eq!(open("W 90", Field::Kw), Some(Open::InputOrShaft));
    assert!(doubts(&["F.L. EFF 75 5%"], Field::NominalEfficiency).contains("right behind"));
    assert!(doubts(&["S/N 1120 447 / 16"], Field::Serial).contains("right behind"));
    // A year is rather a date than a part of the number.
    let sure = |line: &str| parse(&page(rows(&[line]))).fields[&Field::Serial].association;
    assert!(sure("S/N L8K0221 1988") < 0.99 && sure("S/N L8K0221 8819") > 0.99);
    let column = grid(&[
        (0, 0, "RPM"),
        (10, 0, "1390"),
        (16, 0, "6"),
        (20, 0, "1560"),
    ]);
    let column = &parse(&page(column)).fields[&Field::Rpm].doubts;
    let codes = grid(&[(0, 0, "KVA CODE"), (12, 0, "G"), (20, 0, "J")]);
    let codes = &parse(&page(codes)).fields[&Field::KvaCode].doubts;
    assert!(
        codes.iter().any(|d| d.contains("right behind")),
        "{codes:?}"
    );
    assert!(
        column.iter().any(|d| d.contains("right behind")),
        "{column:?}"
    );
    assert!(!doubts(&["RPM 1140 2340 CFM"], Field::Rpm).contains("right behind"));
    // Of a row of a table one value was taken; another list has another form.
    let row = |other: &str| {
        let cells = grid(&[
            (0, 0, "VOLTS"),
            (8, 0, "115"),
            (20, 0, "AMPS"),
            (27, 0, "3.2"),
            (60, 0, other),
        ]);
        parse(&page(cells)).fields[&Field::Amps].doubts.join("; ")
    };
    assert!(row("2.4").contains("in line with it"), "{}", row("2.4"));
    assert_eq!(row("1.15/1"), "");
    assert_eq!(
        doubts(&["F.L. EFF 75.5 P.F. 80"], Field::NominalEfficiency),
        ""
    );
}

/// A scratch between two figures of a row, a little lower than they are.
#[test]
fn a_figure_astray_parts_no_row() {
    let mut lines = grid(&[
        (0, 0, "RPM"),
        (10, 0, "1075"),
        (20, 0, "975"),
        (30, 0, "850"),
    ]);
    lines.push(boxed(225.0, 29.0, 28.0, "1"));
    let plate = parse(&page(lines));
    assert_eq!(printed(&plate, Field::Rpm).as_deref(), Some("1075 975 850"));
}

#[test]
fn a_label_without_a_value_is_unreadable_and_not_absent() {
    let plate = parse(&page(rows(&["HP 1/2", "FRAME", "", "ENCLOSURE ####"])));
    assert!(plate.unreadable.contains_key(&Field::Frame));
    assert!(plate.unreadable.contains_key(&Field::Enclosure));
    assert!(!plate.unreadable.contains_key(&Field::Hp));
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

/// Cells side by side, 160 pixels each.
fn cells(y: f32, height: f32, cells: &[&str]) -> Vec<Line> {
    let cells = cells.iter().enumerate();
    cells
        .map(|(i, text)| boxed(20.0 + 160.0 * i as f32, y, height, text))
        .collect()
}

#[test]
fn small_labels_below_their_values() {
    use Field::*;
    let lines = [
        cells(20.0, 24.0, &["1/2", "0Y266G", "60/3", "1725"]),
        cells(48.0, 12.0, &["HP", "MODEL", "HZ/PH", "R.P.M."]),
        cells(
            90.0,
            24.0,
            &["208-230/460", "2.0-1.8/0.90", "AIR OVER", "L"],
        ),
        cells(118.0, 12.0, &["VOLT", "RATED A", "DUTY", "KVA"]),
    ];
    check(vec![Case {
        name: "parted by a stroke, and a value of two words",
        lines: lines.concat(),
        expected: vec![
            (Hertz, "60"),
            (Phase, "3"),
            (Hp, "1/2"),
            (Rpm, "1725"),
            (Duty, "AIR OVER"),
            (KvaCode, "L"),
        ],
        not: vec![],
    }]);
}

/// Small print beside large figures, and a maker's name as high as two rows (common practice).
#[test]
fn labels_and_values_of_very_different_heights() {
    use Field::*;
    let row = |y: f32, label: &str, value: &str| {
        [
            boxed(20.0, y + 16.0, 14.0, label),
            boxed(120.0, y, 44.0, value),
        ]
    };
    let large = ["230/460", "9.8/4.9", "145T", "1740"];
    let small = ["VOLTS", "AMPS", "FRAME", "RPM"];
    let rows = (0..).zip(small.iter().zip(large));
    let beside_name = vec![
        boxed(0.0, 100.0, 90.0, "KORVA"),
        boxed(340.0, 90.0, 46.0, "H.P."),
        boxed(650.0, 92.0, 50.0, "1/2"),
        boxed(1000.0, 92.0, 46.0, "VOLTS"),
        boxed(1200.0, 92.0, 46.0, "115"),
        boxed(340.0, 160.0, 46.0, "R.P.M."),
        boxed(650.0, 162.0, 50.0, "1075"),
    ];
    check(vec![
        Case {
            name: "labels in small print",
            lines: rows
                .flat_map(|(at, (label, value))| row(60.0 * at as f32, label, value))
                .collect(),
            expected: vec![
                (Volts, "230/460"),
                (Amps, "9.8/4.9"),
                (Frame, "145T"),
                (Rpm, "1740"),
            ],
            not: vec![],
        },
        Case {
            name: "the maker's name before two rows",
            lines: beside_name,
            expected: vec![(Hp, "1/2"), (Volts, "115"), (Rpm, "1075")],
            not: vec![],
        },
    ]);
}

#[test]
fn where_a_value_ends() {
    use Field::*;
    check(vec![
        Case {
            name: "the rule between two cells, and a word that begins like a label",
            lines: rows(&[
                "STYLE 8L867U|",
                "ENCL T.E.A.O.|MAX AMB 40 C",
                "SERIAL R627064",
            ]),
            expected: vec![(Model, "8L867U"), (Enclosure, "T.E.A.O."), (AmbientC, "40")],
            not: vec![],
        },
        Case {
            name: "a word that begins like its label",
            lines: rows(&["ENCL: ENCLOSED", "HP 1/6"]),
            expected: vec![(Enclosure, "ENCLOSED"), (Hp, "1/6")],
            not: vec![],
        },
        Case {
            name: "leads of a wiring diagram beside a number, and the next value",
            lines: rows(&["SERIAL 75F6328 L3 T3 T9", "CAT NO KB12-7   6.4 AMPS"]),
            expected: vec![(Serial, "75F6328"), (Model, "KB12-7"), (Amps, "6.4")],
            not: vec![],
        },
        Case {
            name: "units behind the number",
            lines: rows(&["825RPM 200-230V 2.1FLA", "SINGLE PHASE TEAO 60~"]),
            expected: vec![
                (Rpm, "825"),
                (Volts, "200-230"),
                (Amps, "2.1"),
                (Phase, "SINGLE"),
                (Hertz, "60"),
            ],
            not: vec![],
        },
        Case {
            name: "small letters, and the phases of IEC plates",
            lines: rows(&["MOT. 3~", "Nl AMPS 2.1", "AMPS 4.9"]),
            expected: vec![(Amps, "4.9"), (Phase, "3")],
            not: vec![],
        },
        Case {
            name: "a lone stroke for one phase",
            lines: rows(&["PH I", "HZ 60"]),
            expected: vec![(Phase, "1"), (Hertz, "60")],
            not: vec![],
        },
        Case {
            name: "the last cell is as wide as the plate",
            lines: [
                cells(20.0, 12.0, &["HZ", "SF", "INS", "CODE"]),
                cells(36.0, 24.0, &["60", "1.25", "B", "K"]),
                cells(80.0, 12.0, &["AMB"]),
                vec![boxed(330.0, 96.0, 24.0, "40 C")],
            ]
            .concat(),
            expected: vec![(Hertz, "60"), (AmbientC, "40"), (KvaCode, "K")],
            not: vec![],
        },
        Case {
            name: "a table whose powers have a fraction",
            lines: [
                rows(&["SER. FACTOR 1.15"]),
                [
                    (60.0, ["60", "230/460", "1 1/2", "1750"]),
                    (90.0, ["50", "190/380", "1 1/2", "1435"]),
                ]
                .map(|(y, values)| cells(y, 20.0, &values))
                .concat(),
                cells(40.0, 16.0, &["Hz", "V", "HP", "RPM"]),
            ]
            .concat(),
            expected: vec![
                (Hp, "1 1/2"),
                (ServiceFactor, "1.15"),
                (Volts, "230/460 190/380"),
                (Rpm, "1750 1435"),
            ],
            not: vec![],
        },
        Case {
            name: "air over in two letters",
            lines: rows(&["RATING CONT A O", "AMPS 2.3 A", "ENCL OPEN"]),
            expected: vec![(Duty, "CONT A O"), (Amps, "2.3"), (Enclosure, "OPEN")],
            not: vec![],
        },
        Case {
            name: "a number of the maker's that begins like a label",
            lines: rows(&["PART NO KW4563-B", "MOT T74-499 PH 3PH"]),
            expected: vec![(Model, "KW4563-B"), (Phase, "3")],
            not: vec![],
        },
        Case {
            name: "the designation of the machine on a plate by IEC 60034-1",
            lines: rows(&["TYPE KF5982-T", "kW 1.5", "V 230/400", "HZ 50"]),
            expected: vec![(Model, "KF5982-T")],
            not: vec![],
        },
    ]);
}

/// A number of the maker's tells one motor from others; on plates by NEMA MG 1 TYPE may be the kind of winding as well.
#[test]
fn a_type_is_a_model_where_it_is_a_number_or_the_plate_is_in_kilowatts() {
    let doubts = |kind: &str, power: &str| {
        let plate = parse(&page(rows(&[kind, power, "V 230/400", "HZ 50"])));
        plate.fields[&Field::Model].doubts.len()
    };
    assert_eq!(doubts("TYPE KF5982-T", "kW 1.5"), 0);
    assert_eq!(doubts("TYPE KF5982-T", "HP 2"), 0);
    assert!(doubts("TYPE 55-24", "HP 2") > 0);
    // A name for itself, and letters of the number behind TYPE.
    assert_eq!(doubts("ID SO-7213V-46", "HP 2"), 0);
    assert!(doubts("TYPE ID 32 S-46", "HP 2") > 0);
}

/// Words that are no values, and values without a label or with one that is rare (common practice).
#[test]
fn what_plates_say_in_passing() {
    use Field::*;
    check(vec![
        Case {
            name: "sentences",
            lines: rows(&[
                "INSTALL PER LOCAL CODES.",
                "BRG: 6203 BOTH ENDS",
                "PART NO. 1043-66 REV C",
                "NOT FOR SUBMERSIBLE USE",
                "VOLTS 115/230",
                "FOR 115V MOVE PLUG TO POSITION B",
                "ENCL TEFC",
            ]),
            expected: vec![(Enclosure, "TEFC"), (Volts, "115/230")],
            not: vec![KvaCode, Rotation],
        },
        Case {
            name: "a word that is a label now and then, and currents that are none of the load",
            lines: rows(&[
                "TYPE VLJ-238-117",
                "FOR REPLACEMENT USE SAME PART ONLY",
                "FLA 19.0/9.5 THREE-PHASE MOTOR",
                "MAG AMPS 4.1",
            ]),
            expected: vec![
                (Model, "VLJ-238-117"),
                (Amps, "19.0/9.5"),
                (Phase, "THREE-PHASE"),
            ],
            not: vec![],
        },
        Case {
            name: "a power whose label is lost",
            lines: rows(&["HF 1/12", "RPM 1725", "VOLTS 115"]),
            expected: vec![(Hp, "1/12")],
            not: vec![],
        },
        Case {
            name: "a power beside another fraction",
            lines: rows(&["HP 3", "CONDUIT 1/2", "VOLTS 115"]),
            expected: vec![(Hp, "3")],
            not: vec![],
        },
        Case {
            name: "of a range of ambients the upper end",
            lines: rows(&["AMB -30 to 60\u{b0}C", "VOLTS 460"]),
            expected: vec![(AmbientC, "60")],
            not: vec![],
        },
        Case {
            name: "a word of a warning, and leads",
            lines: rows(&[
                "DO NOT OPEN WHILE ENERGIZED",
                "T1-T2 JOIN T6 OPEN SPACE HEATER",
                "VOLTS 460",
            ]),
            expected: vec![(Volts, "460")],
            not: vec![Enclosure],
        },
        Case {
            name: "voltages behind their connections",
            lines: [
                cells(20.0, 12.0, &["V", "Hz", "A"]),
                cells(36.0, 20.0, &["\u{394} 230", "50", "8,1"]),
                cells(62.0, 20.0, &["Y 400", "", "4,7"]),
            ]
            .concat()
            .into_iter()
            .filter(|line| !line.text.is_empty())
            .collect(),
            expected: vec![(Volts, "\u{394} 230 Y 400"), (Amps, "8,1 4,7")],
            not: vec![],
        },
        Case {
            name: "another use in a cell of its own",
            lines: [
                cells(20.0, 12.0, &["VOLTS", "AMPS", "USABLE @ 208V"]),
                cells(36.0, 20.0, &["230/460", "7.8/3.9", "8.7 A"]),
            ]
            .concat(),
            expected: vec![(Volts, "230/460"), (Amps, "7.8/3.9")],
            not: vec![],
        },
        Case {
            name: "voltages with their connections, row by row",
            lines: [
                cells(20.0, 12.0, &["V", "Hz", "kW"]),
                cells(36.0, 20.0, &["400 \u{394} / 690 Y", "50", "4.0"]),
                cells(66.0, 20.0, &["460 \u{394}", "60", "4.6"]),
            ]
            .concat(),
            expected: vec![(Hertz, "50 60"), (Kw, "4.0 4.6")],
            not: vec![],
        },
        Case {
            name: "the kind of the motor is not below its label",
            lines: rows(&["FR 48  TYPE PSC", "           CONT AIR OVER"]),
            expected: vec![(Duty, "CONT AIR OVER")],
            not: vec![],
        },
        Case {
            name: "continuous, and air over elsewhere",
            lines: rows(&["DUTY CONT", "CONDENSER FAN - AIR OVER", "VOLTS 460"]),
            expected: vec![(Duty, "CONT")],
            not: vec![],
        },
        Case {
            name: "values strung together with strokes",
            lines: rows(&[
                "1/3HP/115V/60HZ/1PH/5.9A",
                "1075RPM/3SPD/CCWLE/CL B",
                "CAP 7.5MFD-370V/AMB 40C/OPEN A.O.",
            ]),
            expected: vec![
                (Hp, "1/3"),
                (Amps, "5.9"),
                (Rpm, "1075"),
                (Rotation, "CCWLE"),
                (InsulationClass, "B"),
                (CapacitorUf, "7.5"),
                (CapacitorVolts, "370"),
                (AmbientC, "40"),
                (Enclosure, "OPEN A.O"),
            ],
            not: vec![],
        },
        Case {
            name: "numbers of the maker's with blanks, behind letters, without one before them",
            lines: rows(&["SER. 17 B 30448", "MODELPK-1550-10", "HP 1/10"]),
            expected: vec![(Serial, "17 B 30448"), (Model, "PK-1550-10"), (Hp, "1/10")],
            not: vec![],
        },
        Case {
            name: "a serial number that begins like watts",
            lines: rows(&["SER W15-33071", "HP 1/4", "CAT HV2151T"]),
            expected: vec![(Serial, "W15-33071"), (Model, "HV2151T")],
            not: vec![Kw],
        },
        Case {
            name: "plates from the continent",
            lines: rows(&["0,37 kW", "Wkl. F Umg. 40 C", "V 230/400"]),
            expected: vec![(Kw, "0,37"), (InsulationClass, "F"), (AmbientC, "40")],
            not: vec![],
        },
    ]);
}

#[test]
fn what_stands_behind_a_value_and_is_something_else() {
    let doubts = |text: &str, field: Field| {
        let plate = parse(&page(rows(&["VOLTS 115", text])));
        let place = &plate.fields[&field];
        place.doubts.len() + place.claims.len().saturating_sub(1)
    };
    assert_eq!(doubts("1050/900/750RPM 3 SPEED", Field::Rpm), 0);
    assert_eq!(doubts("AMB 40 C 118 kg", Field::AmbientC), 0);
    assert_eq!(doubts("P.F. 75 5%", Field::PowerFactor), 1);
    assert_eq!(doubts("FREQUENCY 50 Hz   60 Hz", Field::Hertz), 1);
}

/// Watts that a plate calls its output are shaft power (IEC 60034-1 on rated output).
#[test]
fn watts_of_output_are_no_input() {
    let open = |line: &str| {
        let plate = parse(&page(rows(&[line, "VOLTS 115"])));
        plate.fields.get(&Field::Kw).map(|reading| reading.open)
    };
    for output in ["9 WATTS OUTPUT", "OUTPUT: 45 W", "W 10 resi/output"] {
        assert_eq!(open(output), Some(None), "{output}");
    }
    assert_eq!(open("9 WATTS"), Some(Some(Open::InputOrShaft)));
    for input in ["POWER INPUT 440 W", "W 34 ass./input"] {
        assert_eq!(open(input), None, "{input}");
    }
}
