//! Plates whose labels and values stand in cells and strings: several labels in one cell, labels in the corner opposite to
//! their values, values with their labels behind them, powers in brackets. Layouts: common practice.

use super::*;

#[test]
fn labels_of_one_cell_parted_by_strokes() {
    use Field::*;
    check(vec![
        Case {
            name: "values above",
            lines: grid(&[
                (0, 0, "2 / 1.15"),
                (20, 0, "208-230/460"),
                (40, 0, "3 / 60"),
                (0, 1, "HP / SF"),
                (20, 1, "VOLTS"),
                (40, 1, "PH / HZ"),
            ]),
            expected: vec![
                (Hp, "2"),
                (ServiceFactor, "1.15"),
                (Volts, "208-230/460"),
                (Phase, "3"),
                (Hertz, "60"),
            ],
            not: vec![],
        },
        Case {
            name: "values below",
            lines: grid(&[
                (0, 0, "KVA CODE / DESIGN / DUTY"),
                (40, 0, "RPM"),
                (0, 1, "K / B / CONT"),
                (40, 1, "1760"),
            ]),
            expected: vec![(KvaCode, "K"), (Design, "B"), (Duty, "CONT"), (Rpm, "1760")],
            not: vec![],
        },
        Case {
            name: "values behind",
            lines: rows(&["CODE / DES. G / B", "INSUL. / AMB. F / 40 °C"]),
            expected: vec![
                (KvaCode, "G"),
                (Design, "B"),
                (InsulationClass, "F"),
                (AmbientC, "40"),
            ],
            not: vec![],
        },
        Case {
            name: "parted by dashes",
            lines: grid(&[
                (0, 0, "VOLTS - CYCLE - PHASE"),
                (40, 0, "115 - 60 - 1"),
                (0, 2, "AMPERES HI / LO"),
                (40, 2, "10.2 / 4.6"),
            ]),
            expected: vec![
                (Volts, "115"),
                (Hertz, "60"),
                (Phase, "1"),
                (Amps, "10.2/4.6"),
            ],
            not: vec![],
        },
        Case {
            name: "a speed and a number of speeds is no date and serial number",
            lines: grid(&[
                (0, 0, "DATE CODE / SERIAL"),
                (30, 0, "HP"),
                (0, 1, "A23K 004418"),
                (30, 1, "1/2"),
                (0, 2, "R.P.M. / SPEEDS"),
                (0, 3, "1075/3"),
            ]),
            expected: vec![(Hp, "1/2"), (Rpm, "1075")],
            not: vec![],
        },
    ]);
}

#[test]
fn labels_in_the_corner_opposite_to_their_values() {
    use Field::*;
    check(vec![
        Case {
            name: "labels right below",
            lines: grid(&[
                (0, 0, "1-1/2"),
                (20, 0, "230"),
                (40, 0, "8.4"),
                (60, 0, "1140"),
                (12, 1, "HP"),
                (32, 1, "VOLTS"),
                (52, 1, "AMPS"),
                (72, 1, "RPM"),
                (0, 2, "1.15"),
                (20, 2, "9.4"),
                (40, 2, "F"),
                (60, 2, "50"),
                (12, 3, "S.F."),
                (32, 3, "S.F.A."),
                (46, 3, "INS. CLASS"),
                (72, 3, "AMB. °C"),
            ]),
            expected: vec![
                (Hp, "1-1/2"),
                (Volts, "230"),
                (Amps, "8.4"),
                (Rpm, "1140"),
                (ServiceFactor, "1.15"),
                (ServiceFactorAmps, "9.4"),
                (InsulationClass, "F"),
                (AmbientC, "50"),
            ],
            not: vec![],
        },
        Case {
            name: "labels right below, of two in one cell",
            lines: grid(&[
                (0, 0, "H"),
                (20, 0, "80.0"),
                (40, 0, "97"),
                (60, 0, "50 / 370"),
                (80, 0, "AIR OVER"),
                (16, 1, "KVA"),
                (28, 1, "NOM. EFF. %"),
                (53, 1, "P.F. %"),
                (65, 1, "CAP. MFD / VAC"),
                (95, 1, "DUTY"),
            ]),
            expected: vec![
                (KvaCode, "H"),
                (NominalEfficiency, "80.0"),
                (PowerFactor, "97"),
                (CapacitorUf, "50"),
                (CapacitorVolts, "370"),
                (Duty, "AIR OVER"),
            ],
            not: vec![],
        },
        Case {
            name: "labels left above",
            lines: grid(&[
                (0, 0, "STYLE"),
                (40, 0, "SERIAL"),
                (22, 1, "2W-256-64"),
                (62, 1, "7114-MR-0652"),
            ]),
            expected: vec![(Model, "2W-256-64"), (Serial, "7114-MR-0652")],
            not: vec![],
        },
    ]);
}

#[test]
fn values_in_strings() {
    use Field::*;
    check(vec![
        Case {
            name: "labels close behind their values",
            lines: rows(&[
                "115 VOLTS  60 HERTZ  1 PHASE",
                "DW-1570-2 MODEL    51877 SERIAL    50°C AMB",
            ]),
            expected: vec![(Model, "DW-1570-2"), (Serial, "51877"), (AmbientC, "50")],
            not: vec![],
        },
        Case {
            name: "a power in brackets, in another unit",
            lines: rows(&["3 HP (2.2 kW)", "VOLTS 460"]),
            expected: vec![(Hp, "3"), (Kw, "2.2")],
            not: vec![],
        },
        Case {
            name: "strings with dashes",
            lines: rows(&[
                "460V-60HZ-1PH-1/3HP-1075RPM-1.3A-48Y",
                "CL.B-70C AMB-TEAO-CONT",
                "MODEL KF-1075-48Y",
                "TYPE WDA 90L/4-IE3",
                "THERMOSTAT S1-S2",
            ]),
            expected: vec![
                (Volts, "460"),
                (Hertz, "60"),
                (Phase, "1"),
                (Hp, "1/3"),
                (Rpm, "1075"),
                (Amps, "1.3"),
                (Frame, "48Y"),
                (AmbientC, "70"),
                (Enclosure, "TEAO"),
                (Duty, "CONT"),
                (Model, "KF-1075-48Y"),
            ],
            not: vec![],
        },
        Case {
            name: "phases times volts",
            lines: rows(&["1 × 230 V  50 Hz", "0.35 A"]),
            expected: vec![(Phase, "1"), (Volts, "230"), (Hertz, "50")],
            not: vec![],
        },
        Case {
            name: "leaders of dots",
            lines: rows(&["TYPE: MOTOR.......SPX-56WUA-40", "HP......1/2"]),
            expected: vec![(Model, "SPX-56WUA-40"), (Hp, "1/2")],
            not: vec![],
        },
        Case {
            name: "kilowatts from the line",
            lines: rows(&["P1 MAX 1.95 KW", "I MAX 3.10 A"]),
            expected: vec![],
            not: vec![Kw],
        },
        Case {
            name: "watts from the line in a column",
            lines: grid(&[
                (0, 0, "n [1/min]"),
                (20, 0, "P1 [W]"),
                (40, 0, "I [A]"),
                (0, 1, "2250"),
                (20, 1, "93"),
                (40, 1, "0.40"),
            ]),
            expected: vec![(Amps, "0.40")],
            not: vec![Kw],
        },
        Case {
            name: "the fan that cools the motor, and what it is used at on 208 volts",
            lines: rows(&[
                "VOLTS 400  AMPS 14.6",
                "FORCED COOLING FAN: 230 V 0.22 A 48 W",
                "USE ON 208 V AT 1.0 S.F.",
            ]),
            expected: vec![(Volts, "400"), (Amps, "14.6")],
            not: vec![Kw, ServiceFactor],
        },
        Case {
            name: "leads, a fuse, a pump and its pressure",
            lines: rows(&[
                "SUBMERSIBLE PUMP PN 10",
                "BRN = CAPACITOR 120",
                "VOLTS 230  AMPS 6.8",
                "PROTECT WITH 20 A TIME LAG FUSE",
            ]),
            expected: vec![(Volts, "230"), (Amps, "6.8")],
            not: vec![Enclosure, CapacitorUf, Kw, Model],
        },
    ]);
}

#[test]
fn designations_without_a_label_are_offered_and_never_sure() {
    let plate = parse(&page(rows(&["FAN MOTOR OL-PT12-265DS", "VOLTS 265"])));
    let model = &plate.fields[&Field::Model];
    assert_eq!(model.candidates[0].printed, "OL-PT12-265DS");
    assert!(!model.doubts.is_empty());
}

#[test]
fn a_part_number_beside_a_type_is_doubted() {
    let plate = parse(&page(rows(&["P/N 9881 0477  TYPE X-C", "VOLTS 115"])));
    assert!(!plate.fields[&Field::Model].doubts.is_empty());
    let typed = parse(&page(rows(&["P/N 9881 0477  TYPE OS-15-58", "VOLTS 115"])));
    let model = &typed.fields[&Field::Model];
    assert_eq!(model.candidates[0].printed, "OS-15-58");
    assert_eq!(model.doubts, Vec::<String>::new());
    let alone = parse(&page(rows(&["P/N 63-2207-4", "VOLTS 115"])));
    assert_eq!(alone.fields[&Field::Model].doubts, Vec::<String>::new());
}
