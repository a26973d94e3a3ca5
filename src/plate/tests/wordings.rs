//! Ways in which strangers write plates: notes beside the rating, units in the wrong place, labels in two languages.

use super::*;

#[test]
fn notes_are_no_rating() {
    use Field::*;
    check(vec![
        Case {
            name: "frequencies of an inverter",
            lines: rows(&["HP 15  60 CYCLES", "CONST. HP 60-90 HZ"]),
            expected: vec![(Hp, "15"), (Hertz, "60")],
            not: vec![],
        },
        Case {
            name: "the service factor on an inverter, and the label before it",
            lines: grid(&[
                (0, 0, "60"),
                (20, 0, "1.0"),
                (0, 1, "CY./SEC."),
                (20, 1, "S.F. ON PWM"),
            ]),
            expected: vec![(Hertz, "60")],
            not: vec![ServiceFactor],
        },
        Case {
            name: "a heater with its leads",
            lines: rows(&["HP 7.5/3.3  VOLTS 460", "HEATER : H1 H2 120 V 70 W"]),
            expected: vec![(Hp, "7.5/3.3"), (Volts, "460")],
            not: vec![Kw],
        },
        Case {
            name: "a sentence ends, and the capacitor follows",
            lines: rows(&[
                "VOLTS 230",
                "Suitable for swimming pools. Capacitor run: 30 MFD 370 VAC.",
            ]),
            expected: vec![(CapacitorUf, "30"), (CapacitorVolts, "370")],
            not: vec![],
        },
        Case {
            name: "another supply",
            lines: rows(&["VOLTS 230/460  HZ 60", "ALSO RATED 190/380 V 50 HZ"]),
            expected: vec![(Volts, "230/460"), (Hertz, "60")],
            not: vec![],
        },
        Case {
            name: "a letter of a sentence",
            lines: rows(&[
                "HP 5  VOLTS 460",
                "MOUNTING POSITION SHAFT DOWN W/6 SHAFT SLINGER FITTED",
            ]),
            expected: vec![(Hp, "5")],
            not: vec![Kw],
        },
        Case {
            name: "how the rotation is changed, above other words",
            lines: rows(&[
                "ROTATION CCWLE",
                "TO CHANGE ROTATION REVERSE ORANGE AND PURPLE",
                "OIL    BOTH ENDS YEARLY",
            ]),
            expected: vec![(Rotation, "CCWLE")],
            not: vec![],
        },
        Case {
            name: "leads are no model",
            lines: grid(&[(0, 0, "MB10-2JM"), (0, 1, "MODEL"), (0, 2, "4,5,6 TO LINE")]),
            expected: vec![(Model, "MB10-2JM")],
            not: vec![],
        },
        Case {
            name: "the total horsepower of a pump motor",
            lines: rows(&["THP 1.65  HP 1-1/2  SF 1.10"]),
            expected: vec![(Hp, "1-1/2"), (ServiceFactor, "1.10")],
            not: vec![],
        },
    ]);
}

#[test]
fn labels_and_units() {
    use Field::*;
    check(vec![
        Case {
            name: "a label in two languages behind a value",
            lines: rows(&["VOLTS 575    AMPS / A 7.6"]),
            expected: vec![(Volts, "575"), (Amps, "7.6")],
            not: vec![],
        },
        Case {
            name: "a letter before a label",
            lines: rows(&["CODE H NOM. EFF. 91.7%"]),
            expected: vec![(KvaCode, "H"), (NominalEfficiency, "91.7")],
            not: vec![],
        },
        Case {
            name: "revolutions per minute without the raised figure",
            lines: rows(&["Hz 60  min-' 1765", "kW 2.2"]),
            expected: vec![(Rpm, "1765")],
            not: vec![],
        },
        Case {
            name: "minutes are no speed",
            lines: rows(&["RPM 1725  DUTY 30 MIN.", "HP 1/3"]),
            expected: vec![(Rpm, "1725"), (Duty, "30 MIN")],
            not: vec![],
        },
        Case {
            name: "air over beside an enclosure and a frame",
            lines: rows(&["1PH 1100RPM TEAO 48YZ AIR OVER"]),
            expected: vec![(Enclosure, "TEAO"), (Duty, "AIR OVER")],
            not: vec![],
        },
        Case {
            name: "currents below one ampere",
            lines: rows(&["HP 1/10,1/15,1/20  A .55/.42/.33"]),
            expected: vec![(Amps, ".55/.42/.33")],
            not: vec![],
        },
        Case {
            name: "currents at full load and at the service factor",
            lines: rows(&["Full Load Amps 8.0/16.0  Max Load (S.F.) Amps 8.8/17.6"]),
            expected: vec![(Amps, "8.0/16.0"), (ServiceFactorAmps, "8.8/17.6")],
            not: vec![],
        },
    ]);
}

#[test]
fn whole_numbers_end_with_a_point_and_are_not_cut() {
    let doubts = |text: &str, field: Field| {
        let plate = parse(&page(rows(&["VOLTS 115", text])));
        plate.fields[&field].doubts.clone()
    };
    assert!(doubts("PH 1.", Field::Phase).is_empty());
    assert!(doubts("CYCLES 60.", Field::Hertz).is_empty());
    assert!(doubts("RPM 1075 / 3 SPD", Field::Rpm).is_empty());
    assert!(!doubts("AMPS 7.", Field::Amps).is_empty());
    // The last letter of the label may be a zero.
    assert!(!doubts("SER. NO925-71164", Field::Serial).is_empty());
    assert!(doubts("SER. NO. 925-71164", Field::Serial).is_empty());
}

#[test]
fn open_is_a_word_of_wiring_and_of_drains_too() {
    let said = |lines: &[&str]| {
        let plate = parse(&page(rows(lines)));
        let place = &plate.fields[&Field::Enclosure];
        (place.candidates[0].printed.clone(), place.claims.len())
    };
    assert_eq!(
        said(&["ENCL TEFC  HP 5", "T1 T2 T3", "OPEN"]),
        ("TEFC".to_owned(), 0)
    );
    assert_eq!(said(&["ENCL OPEN  HP 5"]), ("OPEN".to_owned(), 0));
}

#[test]
fn a_unit_behind_its_value_makes_a_weak_label_sure() {
    let sure = |line: &str| {
        let plate = parse(&page(rows(&[line, "VOLTS 115", "RPM 1550"])));
        plate.fields[&Field::Kw].association
    };
    assert!(sure("OUTPUT 16 W") > sure("OUTPUT 16"));
}

#[test]
fn label_and_value_in_the_corners_of_a_low_cell() {
    let stroke = |x1: f32, y1: f32, x2: f32, y2: f32| Segment {
        from: Point { x: x1, y: y1 },
        to: Point { x: x2, y: y2 },
    };
    // `HP` in the upper left corner, `5` hardly lower in the lower right one; the same for volts.
    let mut page = page(vec![
        boxed(25.0, 22.0, 16.0, "HP"),
        boxed(190.0, 30.0, 20.0, "5"),
        boxed(225.0, 22.0, 16.0, "VOLTS"),
        boxed(390.0, 31.0, 20.0, "460"),
    ]);
    page.rules = vec![
        stroke(20.0, 18.0, 500.0, 18.0),
        stroke(20.0, 54.0, 500.0, 54.0),
        stroke(20.0, 18.0, 20.0, 54.0),
        stroke(215.0, 18.0, 215.0, 54.0),
        stroke(500.0, 18.0, 500.0, 54.0),
    ];
    let plate = parse(&page);
    assert_eq!(printed(&plate, Field::Hp).as_deref(), Some("5"));
    assert_eq!(printed(&plate, Field::Volts).as_deref(), Some("460"));
}
