//! Languages, tables, numbers of the makers and what stands beside the motor's ratings.

use super::*;

/// IEC 60034-1 (clause 10) asks for the same on every plate, whatever its language; the words are common practice.
#[test]
fn plates_in_other_languages() {
    use Field::*;
    check(vec![
        Case {
            name: "Spanish",
            lines: rows(&[
                "MOTOR MONOFASICO N\u{b0} SERIE 05-22-0713",
                "MODELO MV-71B6 TENSION 220-230 V",
                "INTENS. 1,6 A FREC. 50 Hz VELOC. 900",
                "AISL. F T. AMB. MAX. 50 \u{b0}C SERVICIO S1",
            ]),
            expected: vec![
                (Phase, "MONOFASICO"),
                (Serial, "05-22-0713"),
                (Model, "MV-71B6"),
                (Volts, "220-230"),
                (Amps, "1,6"),
                (Hertz, "50"),
                (Rpm, "900"),
                (InsulationClass, "F"),
                (AmbientC, "50"),
                (Duty, "S1"),
            ],
            not: vec![],
        },
        Case {
            name: "one label in two languages",
            lines: rows(&[
                "FRAME/CARCASSE 145T HP / CV 2",
                "VOLTS VOLTIOS 575 S.F./F.S. 1.15",
                "CODE CODIGO K ENCL / BOITIER TENV",
            ]),
            expected: vec![
                (Frame, "145T"),
                (Hp, "2"),
                (Volts, "575"),
                (ServiceFactor, "1.15"),
                (KvaCode, "K"),
                (Enclosure, "TENV"),
            ],
            not: vec![],
        },
        Case {
            name: "symbols with their units",
            lines: rows(&[
                "U (V) 208-230/460 I (A) 2.1-2.0/1.0",
                "n [1/min] 1120 f (Hz) 60",
            ]),
            expected: vec![
                (Volts, "208-230/460"),
                (Amps, "2.1-2.0/1.0"),
                (Rpm, "1120"),
                (Hertz, "60"),
            ],
            not: vec![],
        },
    ]);
}

/// Layouts of tables and cells (common practice).
#[test]
fn tables_and_cells() {
    use Field::*;
    check(vec![
        Case {
            name: "the letters of a degree of protection over its figures, in a table",
            lines: grid(&[
                (0, 0, "Hz"),
                (12, 0, "min-1"),
                (24, 0, "IP"),
                (0, 1, "60"),
                (12, 1, "1735"),
                (24, 1, "55"),
            ]),
            expected: vec![(Hertz, "60"), (Rpm, "1735"), (Enclosure, "IP 55")],
            not: vec![],
        },
        Case {
            name: "how far the supply may deviate",
            lines: rows(&["V±10% 415   A 1.75", "Hz ±5% 50   SL. NO. KM/21/06 55219"]),
            expected: vec![
                (Volts, "415"),
                (Amps, "1.75"),
                (Hertz, "50"),
                (Serial, "KM/21/06 55219"),
            ],
            not: vec![],
        },
        Case {
            name: "a rivet before a label",
            lines: rows(&["OVOLTS 115  AMPS 3.2", "MAX AMPS @ SF 3.9  0FRAME 48Y"]),
            expected: vec![
                (Volts, "115"),
                (Amps, "3.2"),
                (ServiceFactorAmps, "3.9"),
                (Frame, "48Y"),
            ],
            not: vec![],
        },
        Case {
            name: "labels between two columns of values",
            lines: grid(&[
                (0, 0, "60"),
                (16, 0, "HERTZ"),
                (32, 0, "50"),
                (0, 1, "10"),
                (16, 1, "HP"),
                (32, 1, "7.5"),
                (0, 2, "230/460"),
                (16, 2, "VOLTS"),
                (32, 2, "190/380"),
                (0, 3, "25.0/12.5"),
                (16, 3, "AMPS"),
                (32, 3, "23.4/11.7"),
                (0, 4, "1750"),
                (16, 4, "RPM"),
                (32, 4, "1455"),
            ]),
            expected: vec![
                (Hertz, "60 50"),
                (Hp, "10/7.5"),
                (Volts, "230/460 190/380"),
                (Amps, "25.0/12.5 23.4/11.7"),
                (Rpm, "1750 1455"),
            ],
            not: vec![],
        },
        Case {
            name: "two columns in which every figure has its unit",
            lines: grid(&[
                (0, 0, "FREQUENCY"),
                (20, 0, "50 Hz"),
                (40, 0, "60 Hz"),
                (0, 1, "VOLTAGE"),
                (20, 1, "230/400 V"),
                (40, 1, "265/460 V"),
                (0, 2, "OUTPUT"),
                (20, 2, "1.1 kW"),
                (40, 2, "1.3 kW"),
                (0, 3, "SPEED"),
                (20, 3, "1430 r/min"),
                (40, 3, "1735 r/min"),
            ]),
            expected: vec![
                (Hertz, "50/60"),
                (Volts, "230/400 265/460"),
                (Kw, "1.1/1.3"),
                (Rpm, "1430/1735"),
            ],
            not: vec![],
        },
        Case {
            name: "a table of three rows whose columns all have the last",
            lines: grid(&[
                (0, 0, "V"),
                (12, 0, "Hz"),
                (20, 0, "kW"),
                (30, 0, "r/min"),
                (0, 1, "380/660"),
                (12, 1, "50"),
                (20, 1, "5.5"),
                (30, 1, "2910"),
                (0, 2, "400/690"),
                (12, 2, "50"),
                (20, 2, "5.5"),
                (30, 2, "2925"),
                (0, 3, "460"),
                (12, 3, "60"),
                (20, 3, "6.3"),
                (30, 3, "3530"),
            ]),
            expected: vec![
                (Volts, "380/660 400/690 460"),
                (Kw, "5.5 5.5 6.3"),
                (Rpm, "2910 2925 3530"),
            ],
            not: vec![],
        },
        Case {
            name: "rules between labels and values",
            lines: rows(&["HP|75", "VOLTS|230", "PH|1", "FRAME |215T", "CODE |G"]),
            expected: vec![
                (Hp, "75"),
                (Volts, "230"),
                (Phase, "1"),
                (Frame, "215T"),
                (KvaCode, "G"),
            ],
            not: vec![],
        },
        Case {
            name: "labels behind their values",
            lines: grid(&[
                (0, 0, "CVF 100LA-4"),
                (16, 0, "TYPE"),
                (26, 0, "88-140327"),
                (40, 0, "S/N"),
                (0, 1, "2,2"),
                (8, 1, "kW"),
                (16, 1, "1440"),
                (24, 1, "min-1"),
                (0, 2, "F"),
                (8, 2, "I.CL."),
                (16, 2, "40"),
                (24, 2, "AMB"),
            ]),
            expected: vec![
                (Model, "CVF 100LA-4"),
                (Serial, "88-140327"),
                (Kw, "2,2"),
                (Rpm, "1440"),
                (InsulationClass, "F"),
                (AmbientC, "40"),
            ],
            not: vec![],
        },
        Case {
            name: "a class alone in its cell",
            lines: grid(&[
                (0, 0, "ENCL"),
                (14, 0, "INS"),
                (28, 0, "AMB"),
                (0, 1, "TENV"),
                (14, 1, "A"),
                (28, 1, "40 C"),
            ]),
            expected: vec![(InsulationClass, "A"), (AmbientC, "40")],
            not: vec![Amps],
        },
    ]);
}

/// Numbers that makers give, and words that are none (common practice).
#[test]
fn numbers_of_the_makers() {
    use Field::*;
    check(vec![
        Case {
            name: "with strokes, blanks and a letter in front",
            lines: rows(&["TYPE AM100LB4 NO. A 7731/2", "kW 3", "V 400"]),
            expected: vec![(Model, "AM100LB4"), (Serial, "A 7731/2")],
            not: vec![Frame],
        },
        Case {
            name: "a year before a stroke",
            lines: rows(&["NR. 2208/44107", "kW 1.5"]),
            expected: vec![(Serial, "2208/44107")],
            not: vec![],
        },
        Case {
            name: "no label that takes the first letter of the next word",
            lines: rows(&["MODEL OT-1725-B", "SER GX 500 9174"]),
            expected: vec![(Model, "OT-1725-B"), (Serial, "GX 500 9174")],
            not: vec![],
        },
        Case {
            name: "behind their labels without a blank",
            lines: rows(&["MODAG5-1075-4S", "S/NK2217-0930", "V115", "HP1/2"]),
            expected: vec![
                (Model, "AG5-1075-4S"),
                (Serial, "K2217-0930"),
                (Volts, "115"),
                (Hp, "1/2"),
            ],
            not: vec![],
        },
        Case {
            name: "the supply of a brake and of a heater",
            lines: rows(&[
                "VOLTS 460 AMPS 18.4",
                "BRAKE: 40 Nm 230 V AC 0.25 A",
                "SPACE HTR 115V 48W",
            ]),
            expected: vec![(Volts, "460"), (Amps, "18.4")],
            not: vec![Kw],
        },
        Case {
            name: "a start capacitor beside the run capacitor",
            lines: rows(&[
                "V 115/208-230",
                "START CAP 400-480 MFD 125 V",
                "RUN CAP 15 MFD 370 V",
            ]),
            expected: vec![
                (Volts, "115/208-230"),
                (CapacitorUf, "15"),
                (CapacitorVolts, "370"),
            ],
            not: vec![],
        },
        Case {
            name: "units of other things than the motor's",
            lines: rows(&[
                "0.4 kW 4 POLES V 200",
                "V 200 600 V LEADS FUSE 15 A",
                "FOR 110 V JOIN 1-3 & 2-4",
                "PAT. 2,947,188",
                "MODEL BF-156S",
            ]),
            expected: vec![(Kw, "0.4"), (Volts, "200"), (Model, "BF-156S")],
            not: vec![Amps],
        },
        Case {
            name: "what the word before a unit does not change",
            lines: rows(&[
                "POWER 10 HP",
                "VOLT 415\u{b1}10% Hz 50\u{b1}5%",
                "I: 2.15/2.75A",
                "n: 1320/1430min-1",
            ]),
            expected: vec![
                (Hp, "10"),
                (Volts, "415"),
                (Hertz, "50"),
                (Amps, "2.15/2.75"),
                (Rpm, "1320/1430"),
            ],
            not: vec![Kw],
        },
        Case {
            name: "labels one behind the other, and a mark between",
            lines: rows(&["PH HZ 3 60", "ENCL INS TENV F", "EFFICIENCY IE3 81.0"]),
            expected: vec![
                (Phase, "3"),
                (Hertz, "60"),
                (Enclosure, "TENV"),
                (InsulationClass, "F"),
                (NominalEfficiency, "81.0"),
            ],
            not: vec![],
        },
        Case {
            name: "a frame and the enclosure behind it",
            lines: rows(&["FRAME 56 DP", "HP 1/2"]),
            expected: vec![(Frame, "56"), (Enclosure, "DP")],
            not: vec![],
        },
        Case {
            name: "no enclosure, and no duty",
            lines: rows(&[
                "ENCL TEFC",
                "L1 TO 1, OPEN 4 5 6",
                "WAIT 5 MINUTES AFTER POWER OFF",
            ]),
            expected: vec![(Enclosure, "TEFC")],
            not: vec![Duty],
        },
        Case {
            name: "a heater that is the motor's use",
            lines: rows(&["UNIT HEATER MOTOR 115 V", "HP 1/12"]),
            expected: vec![(Volts, "115"), (Hp, "1/12")],
            not: vec![],
        },
        Case {
            name: "other speeds than the motor's",
            lines: rows(&["FAN RPM 780", "MOTOR RPM 1725", "OUTPUT RPM 58"]),
            expected: vec![(Rpm, "1725")],
            not: vec![],
        },
        Case {
            name: "letters of a number that are labels elsewhere",
            lines: grid(&[
                (0, 0, "MODEL"),
                (30, 0, "SERIAL"),
                (0, 1, "PK 182T 3E"),
                (30, 1, "37 A 10664"),
                (0, 3, "VOLTS 230 AMPS 4.5"),
            ]),
            expected: vec![
                (Model, "PK 182T 3E"),
                (Serial, "37 A 10664"),
                (Volts, "230"),
                (Amps, "4.5"),
            ],
            not: vec![],
        },
        Case {
            name: "a letter behind a number that is no unit",
            lines: grid(&[
                (0, 0, "MODEL"),
                (0, 1, "09-6614 A"),
                (30, 0, "SERIAL"),
                (30, 1, "418 077 W"),
                (0, 3, "230 V 4.5 A"),
            ]),
            expected: vec![
                (Model, "09-6614 A"),
                (Serial, "418 077 W"),
                (Volts, "230"),
                (Amps, "4.5"),
            ],
            not: vec![Kw],
        },
        Case {
            name: "one number for serial and date, and an ambient in both scales",
            lines: rows(&["SERIAL / DATE D0417-22381", "AMBIENT 104°F 40°C"]),
            expected: vec![(Serial, "D0417-22381"), (AmbientC, "40")],
            not: vec![],
        },
    ]);
}

/// Labels of two fields or two languages in one, as IEC plates print them (common practice).
#[test]
fn labels_of_two() {
    use Field::*;
    check(vec![
        Case {
            name: "one unit in brackets behind the other, beside the values",
            lines: rows(&["kW(HP) 1.5 (2.0)", "VOLTS 230"]),
            expected: vec![(Kw, "1.5"), (Hp, "2.0"), (Volts, "230")],
            not: vec![],
        },
        Case {
            name: "the same above its values, in two languages",
            lines: grid(&[
                (0, 0, "POTENCIA / HP [kW]"),
                (30, 0, "FASES / PH"),
                (0, 1, "1/2        [0.37]"),
                (30, 1, "1"),
            ]),
            expected: vec![(Hp, "1/2"), (Kw, "0.37"), (Phase, "1")],
            not: vec![],
        },
        Case {
            name: "run together with both values",
            lines: rows(&["KW/HP3.7/5.0", "VOLT 415"]),
            expected: vec![(Kw, "3.7"), (Hp, "5.0"), (Volts, "415")],
            not: vec![],
        },
        Case {
            name: "a value below the first half of its label",
            lines: grid(&[
                (0, 0, "TIPO / ENCL."),
                (30, 0, "RPM"),
                (0, 1, "ODP"),
                (30, 1, "1730"),
            ]),
            expected: vec![(Enclosure, "ODP"), (Rpm, "1730")],
            not: vec![],
        },
        Case {
            name: "two labels and two values with strokes and blanks between",
            lines: rows(&["Hz / Ph     60 / 1", "Frame     48Y"]),
            expected: vec![(Hertz, "60"), (Phase, "1"), (Frame, "48Y")],
            not: vec![],
        },
        Case {
            name: "two languages in one word",
            lines: grid(&[
                (0, 0, "CARCASSE/ENCL"),
                (30, 0, "RPM"),
                (0, 1, "TEFC"),
                (30, 1, "1730"),
            ]),
            expected: vec![(Enclosure, "TEFC"), (Rpm, "1730")],
            not: vec![Frame],
        },
        Case {
            name: "two languages far from the value",
            lines: rows(&["Enclosure / Carcasse            OPEN", "Phase            1"]),
            expected: vec![(Enclosure, "OPEN"), (Phase, "1")],
            not: vec![Frame],
        },
        Case {
            name: "a number with a letter in its midst",
            lines: rows(&["Serial K2217 A 0649", "Model HC-12 Volts 115"]),
            expected: vec![(Serial, "K2217 A 0649"), (Model, "HC-12"), (Volts, "115")],
            not: vec![Amps],
        },
        Case {
            name: "a motor by its symbol is no model",
            lines: rows(&["3 ~ Mot. Typ OH3A 132L4-K", "V 400 kW 7.5"]),
            expected: vec![(Phase, "3"), (Model, "OH3A 132L4-K")],
            not: vec![],
        },
    ]);
    let labelled = parse(&page(grid(&[(0, 0, "TIPO / ENCL."), (0, 1, "ODP")])));
    let label = labelled.fields[&Enclosure].label.as_deref();
    assert!(label.is_some_and(|l| l.contains("ENCL")), "{label:?}");
    let fraction = parse(&page(rows(&["kW 1/2", "V 230"])));
    assert!(!fraction.fields[&Kw].doubts.is_empty());
}

/// What the text of a replacement motor says in passing is no rating (common practice).
#[test]
fn instructions_are_no_ratings() {
    use Field::*;
    let lines = rows(&[
        "HP 1/4 VOLTS 208-230",
        "ROT REV",
        "TO REVERSE INTERCHANGE THE PURPLE AND YELLOW LEADS FOR CCW LEAD END OR",
        "= CW LEAD END",
        "REPLACES 1/6 - 1/4 HP WHEN FAN LOAD DOES NOT EXCEED NAMEPLATE AMPS",
        "USE LEADS RATED 600 V AND DO NOT CONNECT TO A SUPPLY OF 115 V",
    ]);
    let plate = parse(&page(lines));
    for (field, expected) in [(Hp, "1/4"), (Volts, "208-230"), (Rotation, "REV")] {
        assert_eq!(printed(&plate, field).as_deref(), Some(expected));
        assert!(
            plate.fields[&field].doubts.is_empty(),
            "{:?}",
            plate.fields[&field]
        );
    }
    let lines = rows(&[
        "TENSION 127/220",
        "BAJA TENSION 127 V: 1-3-8 L1, 2-4-5 L2.",
        "220 V: 1 L1, 2-3-8 UNIR",
        "AMB -30°C TO 50°C",
    ]);
    let plate = parse(&page(lines));
    assert_eq!(printed(&plate, Volts).as_deref(), Some("127/220"));
    assert_eq!(plate.fields[&Volts].doubts, Vec::<String>::new());
    let lines = rows(&["KELDA PUMPS", "-30°C to 50°C"]);
    assert_eq!(
        printed(&parse(&page(lines)), AmbientC).as_deref(),
        Some("50")
    );
    // Where nothing else gives it, it is taken from there.
    let lines = rows(&["SUPPLY OF THIS MOTOR IS TO BE 115 V AND FUSED AT THE PANEL"]);
    assert_eq!(printed(&parse(&page(lines)), Volts).as_deref(), Some("115"));
}

/// Old plates rate in hours (24 is continuous), labels say from which end the rotation is seen, two speeds have a code
/// each: common practice.
#[test]
fn labels_that_say_more_than_their_field() {
    use Field::*;
    check(vec![
        Case {
            name: "hours, ends of the shaft, codes of two speeds, a variable speed",
            lines: rows(&[
                "CODE J/F HOURS 24",
                "ROT. (LEAD END) CW",
                "MAX RPM: 1075/1 SPD",
                "AMBIENT MIN/MAX °C -40/40",
                "CAP. 12 µF/450VDB",
            ]),
            expected: vec![
                (KvaCode, "J/F"),
                (Duty, "24"),
                (Rotation, "CW (LEAD END)"),
                (Rpm, "1075"),
                (AmbientC, "40"),
                (CapacitorUf, "12"),
                (CapacitorVolts, "450"),
            ],
            not: vec![],
        },
        Case {
            name: "Spanish words for horsepower, enclosure and efficiency",
            lines: rows(&[
                "POTENCIA 3/4-1/4 C.P. F. DE SERVICIO 1.15",
                "CERRAMIENTO TCCVE EFICIENCIA NOM. 86.5 F.P. 78",
                "AMPS A F.S. 7.0/3.5 LETRA CLAVE K",
            ]),
            expected: vec![
                (Hp, "3/4-1/4"),
                (ServiceFactor, "1.15"),
                (Enclosure, "TCCVE"),
                (NominalEfficiency, "86.5"),
                (PowerFactor, "78"),
                (ServiceFactorAmps, "7.0/3.5"),
                (KvaCode, "K"),
            ],
            not: vec![Kw],
        },
        Case {
            name: "a label in two lines, currents for one voltage, an inverter's range",
            lines: grid(&[
                (0, 0, "VOLTS"),
                (9, 0, "230"),
                (20, 0, "F.L."),
                (29, 0, "2.3"),
                (20, 1, "AMPS"),
                (0, 2, "S.F. AMPS AT 230 V: 2.9"),
                (0, 3, "208V AMPS 2.6"),
                (0, 4, "HZ 60 RANGE 6-60 HZ"),
                (0, 5, "IE2 - 82,8 %"),
                (0, 6, "3~MOT NR 2203117-004"),
            ]),
            expected: vec![
                (Volts, "230"),
                (Amps, "2.3"),
                (ServiceFactorAmps, "2.9"),
                (Hertz, "60"),
                (NominalEfficiency, "82,8"),
                (Phase, "3"),
            ],
            not: vec![],
        },
        Case {
            name: "several labels, each with its value behind all of them",
            lines: grid(&[
                (0, 0, "Volts / Hz / Ph"),
                (30, 0, "120/240 / 60 / 1"),
                (0, 1, "Insulation / Ambient"),
                (30, 1, "Class B / 40 °C"),
                (0, 2, "HP / RPM"),
                (30, 2, "1"),
                (44, 2, "3450"),
                (0, 3, "Fr / Encl"),
                (30, 3, "56J"),
                (44, 3, "ODP"),
            ]),
            expected: vec![
                (Volts, "120/240"),
                (Hertz, "60"),
                (Phase, "1"),
                (InsulationClass, "B"),
                (AmbientC, "40"),
                (Hp, "1"),
                (Rpm, "3450"),
                (Frame, "56J"),
                (Enclosure, "ODP"),
            ],
            not: vec![],
        },
        Case {
            name: "the edge of a cell before its label, a number of either kind",
            lines: grid(&[(0, 0, "IRPM"), (0, 1, "1750"), (20, 0, "NO. KR9-115CWS")]),
            expected: vec![(Rpm, "1750"), (Serial, "KR9-115CWS")],
            not: vec![],
        },
        Case {
            name: "what is no value: minutes, a mounting, leads",
            lines: rows(&[
                "DISCHARGE CAPACITORS 5 MINUTES BEFORE OPENING",
                "TYPE B3",
                "1-6, 2-4, 3-5",
                "T4-T5-T6 OPEN",
            ]),
            expected: vec![],
            not: vec![CapacitorUf, Model, Duty, Enclosure],
        },
    ]);
    let doubts =
        |lines: &[&str], field: Field| parse(&page(rows(lines))).fields[&field].doubts.join("; ");
    let two = doubts(&["VELOCIDAD ALTA 1725 / BAJA 1140 r/min"], Rpm);
    assert!(two.contains("right before"), "{two}");
}

/// Met on plates drawn by others; each is common practice.
#[test]
fn what_others_print() {
    use Field::*;
    check(vec![
        Case {
            name: "every label small in the corner below its value",
            lines: [
                cells(20.0, 30.0, &["1.5/.67", "1735/860", "3", "60"]),
                cells(52.0, 16.0, &["HORSEPOWER", "RPM", "PHASE", "HERTZ"]),
                cells(90.0, 30.0, &["460", "2.4/1.6", "1.15", "145T"]),
                cells(122.0, 16.0, &["VOLTS", "AMPS", "SERVICE FACTOR", "FRAME"]),
                cells(160.0, 30.0, &["ODP", "40", "CONT", "J"]),
                cells(192.0, 16.0, &["ENCLOSURE", "°C AMB", "DUTY", "KVA"]),
            ]
            .concat()
            .into_iter()
            .map(|line| {
                // Values are centred, labels begin at the cell's edge.
                let value = line.quad.height() > 20.0;
                let by = if value { 70.0 } else { 0.0 };
                let quad = Quad(line.quad.0.map(|p| Point { x: p.x + by, ..p }));
                Line { quad, ..line }
            })
            .collect(),
            expected: vec![
                (Hp, "1.5/.67"),
                (Rpm, "1735/860"),
                (Volts, "460"),
                (Amps, "2.4/1.6"),
                (ServiceFactor, "1.15"),
                (Frame, "145T"),
                (Phase, "3"),
                (Hertz, "60"),
                (AmbientC, "40"),
                (KvaCode, "J"),
            ],
            not: vec![],
        },
        Case {
            name: "a blank behind a wide decimal point",
            lines: rows(&["S.F. 1. 15", "AMPS 26. 5/15. 3", "NOM. EFF. 91. 0"]),
            expected: vec![
                (ServiceFactor, "1.15"),
                (Amps, "26.5/15.3"),
                (NominalEfficiency, "91.0"),
            ],
            not: vec![],
        },
        Case {
            name: "the capacitor's voltage below its capacitance",
            lines: grid(&[
                (0, 0, "VOLTS 208-230"),
                (30, 0, "CAP"),
                (36, 0, "5 MFD"),
                (36, 1, "370 VAC"),
            ]),
            expected: vec![
                (Volts, "208-230"),
                (CapacitorUf, "5"),
                (CapacitorVolts, "370"),
            ],
            not: vec![],
        },
        Case {
            name: "phases by their sign, cooling below the speeds",
            lines: grid(&[
                (0, 0, "Nr. 88-20417 3~ 400 V 50 Hz"),
                (0, 1, "kW"),
                (20, 1, "r/min"),
                (0, 2, "1.4"),
                (20, 2, "715"),
                (0, 3, "6.0"),
                (20, 3, "1450"),
                (17, 4, "IC 418"),
            ]),
            expected: vec![(Phase, "3"), (Rpm, "715 1450"), (Kw, "1.4 6.0")],
            not: vec![],
        },
        Case {
            name: "words for phase, ambient and frequency",
            lines: rows(&[
                "Drehstrom-Motor Kuhlmitteltemp. max. 40 °C",
                "CYCLES/SEC 60",
                "Amps @ S.F. 108/54",
            ]),
            expected: vec![
                (Phase, "Drehstrom-Motor"),
                (AmbientC, "40"),
                (Hertz, "60"),
                (ServiceFactorAmps, "108/54"),
            ],
            not: vec![],
        },
        Case {
            name: "how it is connected to turn one way is not the way it turns",
            lines: rows(&[
                "CCW ROTATION T1-T5 LINE, T4-T8 LINE",
                "CCW rotation: Black to 5. CW: Red to 5.",
            ]),
            expected: vec![],
            not: vec![Rotation],
        },
        Case {
            name: "the rotation as seen from the top",
            lines: rows(&["ROTATION C.C.W. FACING TOP END"]),
            expected: vec![(Rotation, "C.C.W. FACING TOP END")],
            not: vec![],
        },
        Case {
            name: "degrees of protection are no number of the maker's",
            lines: rows(&["TYPE IP 55 IK 08"]),
            expected: vec![(Enclosure, "IP 55")],
            not: vec![Model],
        },
        Case {
            name: "other uses: the service factor on an inverter, a heater, replacements",
            lines: rows(&[
                "SER.F. 1.25 VOLTS 575 HP 7.5 RPM 1770",
                "INVERTER DUTY: CT 3-60 Hz, 1.0 SF ON PWM",
                "ON VFD S.F. 1.0   MAX 5400 RPM",
                "REPLACES 1/2 THRU 1/5 HP",
                "ELEMENT CHAUFFANT: 115 V 48 W",
            ]),
            expected: vec![
                (ServiceFactor, "1.25"),
                (Volts, "575"),
                (Hp, "7.5"),
                (Rpm, "1770"),
            ],
            not: vec![Kw],
        },
        Case {
            name: "capacitance and voltage without units, both ways to turn",
            lines: rows(&["CAP. 7.5/440", "CCW OR CW: SWAP ANY TWO LEADS"]),
            expected: vec![(CapacitorUf, "7.5"), (CapacitorVolts, "440")],
            not: vec![],
        },
    ]);
    let fields = |lines| parse(&page(lines)).fields;
    let below = fields(grid(&[(0, 0, "HZ / PH"), (1, 1, "60/1")]));
    assert!(below[&Hertz].doubts.is_empty(), "{:?}", below[&Hertz]);
    let seen = fields(rows(&["1550 RPM CW", "ROT. FACING SHAFT"]));
    assert!(seen[&Rotation].doubts.is_empty(), "{:?}", seen[&Rotation]);
    let run_on = fields(rows(&["MODEK5-2206A SER. NO. 418837"]));
    assert!(!run_on[&Model].doubts.is_empty(), "{:?}", run_on[&Model]);
    let two = fields(grid(&[(0, 0, "Horsepower"), (24, 0, "1/6 (HI) 1/10 (LO)")]));
    let powers = two
        .get(&Hp)
        .map(|r| (r.candidates[0].value.clone(), r.doubts.clone()));
    assert!(
        powers
            .as_ref()
            .is_none_or(|(value, doubts)| value.numbers().len() > 1 || !doubts.is_empty()),
        "{powers:?}"
    );
    let either = fields(rows(&["CCW OR CW: SWAP ANY TWO LEADS"]));
    let value = either.get(&Rotation).map(|r| r.candidates[0].value.clone());
    assert_ne!(value, Some(crate::record::Value::Text("ccw".to_owned())));
}

/// A value far behind its label, where all others follow theirs closely, may have lost its beginning.
#[test]
fn room_for_lost_figures() {
    let plate = |serial: f32| {
        let mut lines = rows(&[
            "MODEL C56-N24",
            "HP 1/2",
            "VOLTS 115",
            "AMPS 8.0",
            "RPM 1725",
        ]);
        lines.extend([line(400.0, 20.0, "SER"), line(serial, 20.0, "90113")]);
        let plate = parse(&page(lines));
        let serial = &plate.fields[&Field::Serial];
        assert_eq!(serial.candidates[0].printed, "90113");
        serial.doubts.clone()
    };
    assert_eq!(plate(450.0), Vec::<String>::new());
    assert_eq!(
        plate(500.0),
        ["there is room for more between its label and it"]
    );
}

/// Rules part cells: a label in the corner of its cell, the value in the opposite one (common practice).
#[test]
fn ruled_cells() {
    let lines = vec![
        line(24.0, 20.0, "VOLTS"),
        line(150.0, 40.0, "115"),
        line(224.0, 20.0, "HZ"),
        line(350.0, 40.0, "60"),
        line(24.0, 74.0, "RPM"),
        line(150.0, 94.0, "1075"),
        line(224.0, 74.0, "INS"),
        line(350.0, 94.0, "B"),
    ];
    let rule = |a: (f32, f32), b: (f32, f32)| Segment {
        from: Point { x: a.0, y: a.1 },
        to: Point { x: b.0, y: b.1 },
    };
    let mut page = page(lines);
    page.rules = [15.0, 66.0, 120.0]
        .map(|y| rule((18.0, y), (420.0, y)))
        .into_iter()
        .chain([18.0, 216.0, 420.0].map(|x| rule((x, 15.0), (x, 120.0))))
        .collect();
    let plate = parse(&page);
    let read = [
        Field::Volts,
        Field::Hertz,
        Field::Rpm,
        Field::InsulationClass,
    ]
    .map(|field| printed(&plate, field));
    let expected = ["115", "60", "1075", "B"].map(|text| Some(text.to_owned()));
    assert_eq!(read, expected);
}

/// Words that are all but AIR OVER make a duty doubtful: by them a motor is chosen by its amps (common practice).
#[test]
fn a_misread_air_over() {
    let doubts = |row: &str| {
        let plate = parse(&page(rows(&["HP 1/6 VOLTS 115", row])));
        plate.fields[&Field::Duty].doubts.clone()
    };
    assert_eq!(
        doubts("ADR SVER CONT DUTY"),
        ["what stands beside it may be AIR OVER"]
    );
    // Without a label as well.
    assert_eq!(
        doubts("CONT ATR OVER"),
        ["what stands beside it may be AIR OVER"]
    );
    assert_eq!(doubts("FAN MOTOR CONT DUTY"), Vec::<String>::new());
    assert_eq!(doubts("CONT"), Vec::<String>::new());
}

/// Where the values of a column stand, one that is worn away stands as well: a letter beyond it is of something else.
#[test]
fn a_value_of_another_column_is_asked() {
    let doubts = |code: f32| {
        let lines = vec![
            line(20.0, 20.0, "V"),
            line(150.0, 20.0, "115"),
            line(20.0, 50.0, "A"),
            line(150.0, 50.0, "11.0"),
            line(20.0, 80.0, "SF"),
            line(150.0, 80.0, "1.50"),
            line(20.0, 110.0, "HZ"),
            line(150.0, 110.0, "60"),
            line(20.0, 140.0, "CODE"),
            line(code, 140.0, "L"),
        ];
        let plate = parse(&page(lines));
        plate.fields[&Field::KvaCode].doubts.clone()
    };
    assert_eq!(doubts(150.0), Vec::<String>::new());
    assert_eq!(
        doubts(300.0),
        ["the values of the labels above and below its label all stand nearer"]
    );
}

/// Of HORSEPOWER the first part may be worn away: POWER without a unit is asked.
#[test]
fn a_power_in_no_unit_is_asked() {
    let doubts = |row: &str| {
        let plate = parse(&page(rows(&[row, "VOLTS 230", "RPM 1740"])));
        plate.fields[&Field::Kw].doubts.clone()
    };
    assert_eq!(
        doubts("POWER 5"),
        ["the plate says power and not whether in kilowatts or horsepower"]
    );
    assert_eq!(doubts("POWER 5 kW"), Vec::<String>::new());
    assert_eq!(doubts("POWER kW 5"), Vec::<String>::new());
}

/// A list of voltages whose label is lost goes before one voltage in a note.
#[test]
fn voltages_without_their_label_beside_a_note() {
    let volts = |row: &str| {
        let plate = parse(&page(rows(&["RPM 3450", row, "115V PLUG TO A"])));
        printed(&plate, Field::Volts)
    };
    assert_eq!(volts("115/230").as_deref(), Some("115/230"));
    assert_eq!(volts("1.50").as_deref(), Some("115"));
}

/// A table has as many ratings as it has rows.
#[test]
fn a_table_of_six_rows() {
    let figures = [
        ["690", "50", "8.3", "1458"],
        ["400", "50", "14.3", "1458"],
        ["660", "50", "8.5", "1453"],
        ["380", "50", "14.8", "1453"],
        ["415", "50", "14.0", "1461"],
        ["440", "60", "15.0", "1752"],
    ];
    let row = |at: usize, texts: [&str; 4]| {
        let cells = (0..4).zip(texts);
        cells
            .map(|(column, text)| line(20.0 + 120.0 * column as f32, 20.0 + 30.0 * at as f32, text))
            .collect::<Vec<Line>>()
    };
    let mut lines = row(0, ["V", "Hz", "A", "r/min"]);
    lines.extend((1..).zip(figures).flat_map(|(at, texts)| row(at, texts)));
    let plate = parse(&page(lines));
    for (field, text) in [
        (Field::Volts, "690 400 660 380 415 440"),
        (Field::Hertz, "50 50 50 50 50 60"),
        (Field::Amps, "8.3 14.3 8.5 14.8 14.0 15.0"),
        (Field::Rpm, "1458 1458 1453 1453 1461 1752"),
    ] {
        assert_eq!(printed(&plate, field).as_deref(), Some(text), "{field}");
    }
}

/// A second column with the same figures says nothing new; one with others is asked.
#[test]
fn a_column_that_repeats_the_other() {
    let doubts = |second: &str| {
        let lines = vec![
            line(20.0, 20.0, "HP (kW)"),
            line(200.0, 20.0, "7.5 (5.6)"),
            line(400.0, 20.0, second),
            line(20.0, 50.0, "FRAME 213T"),
        ];
        let plate = parse(&page(lines));
        let another = "another such value stands in line with it".to_owned();
        [Field::Hp, Field::Kw].map(|field| plate.fields[&field].doubts.contains(&another))
    };
    assert_eq!(doubts("7.5 (5.6)"), [false, false]);
    assert!(doubts("10.5 (7.9)").contains(&true));
}

/// Ratings in bands, each figure with its unit: what stands in each band in the same place belongs together.
#[test]
fn bands_of_ratings() {
    let band = |y: f32, figures: [&str; 4]| {
        [
            line(20.0, y, figures[0]),
            line(140.0, y, figures[1]),
            line(300.0, y + 30.0, figures[2]),
            line(20.0, y + 40.0, figures[3]),
        ]
    };
    let lines = [
        band(20.0, ["60 Hz", "3 HP", "1760 rpm", "8.4/3.9 A"]),
        band(140.0, ["50 Hz", "2 HP", "1450 rpm", "7.0/3.5 A"]),
    ];
    let plate = parse(&page(lines.concat()));
    let expected = [
        (Field::Hertz, "60/50"),
        (Field::Hp, "3/2"),
        (Field::Rpm, "1760/1450"),
        (Field::Amps, "8.4/3.9 7.0/3.5"),
    ];
    for (field, text) in expected {
        assert_eq!(printed(&plate, field).as_deref(), Some(text), "{field}");
        assert_eq!(plate.fields[&field].doubts, Vec::<String>::new(), "{field}");
    }
}

/// Lists with colons in a column of their own, speeds with strokes between blanks, voltages below a capacitance (common
/// practice).
#[test]
fn columns_of_colons_and_lists_with_blanks() {
    use Field::*;
    check(vec![
        Case {
            name: "a designation behind a colon that begins as a label does",
            lines: grid(&[
                (0, 0, "Model"),
                (20, 0, ": NR-FM16-230A"),
                (0, 1, "Rated voltage"),
                (20, 1, ": 208-230 V"),
                (0, 2, "Frequency"),
                (20, 2, ": 60 Hz"),
                (0, 3, "Phase"),
                (20, 3, ": 1"),
            ]),
            expected: vec![(Model, "NR-FM16-230A"), (Volts, "208-230"), (Phase, "1")],
            not: vec![Serial],
        },
        Case {
            name: "speeds in front of their unit",
            lines: rows(&[
                "1/2 H.P. 115 V. 60 HZ. 8.9 A. 1 PH.",
                "1075 / 950 / 825 R.P.M. THREE SPEED",
            ]),
            expected: vec![(Rpm, "1075/950/825"), (Volts, "115"), (Hp, "1/2")],
            not: vec![],
        },
        Case {
            name: "the voltage of a capacitor below its capacitance",
            lines: grid(&[
                (0, 0, "MODEL"),
                (12, 0, "HL-15-F"),
                (0, 1, "VOLTS"),
                (12, 1, "115"),
                (40, 1, "MAX. TEMP. 230\u{b0}F"),
                (0, 2, "HP"),
                (12, 2, "1/12"),
                (40, 2, "CAPACITOR 8 \u{b5}F"),
                (0, 3, "HZ"),
                (12, 3, "60"),
                (40, 3, "180 VAC"),
                (0, 4, "RPM"),
                (12, 4, "3250"),
            ]),
            expected: vec![(Volts, "115"), (CapacitorVolts, "180"), (CapacitorUf, "8")],
            not: vec![],
        },
    ]);
}

/// `60 Hz` and `50 Hz` over the columns of a table with its labels in front, however wide the columns are.
#[test]
fn frequencies_over_wide_columns() {
    let rows = [
        ["Output (HP)", "3", "2"],
        ["Voltage", "208-230/460", "190/380"],
        ["Full load amps", "8.8-8.2/4.1", "6.8/3.4"],
        ["Speed (RPM)", "1755", "1445"],
    ];
    let mut lines = grid(&[(30, 0, "60 Hz"), (60, 0, "50 Hz")]);
    for (y, [label, left, right]) in (1..).zip(rows) {
        lines.extend(grid(&[(0, y, label), (30, y, left), (60, y, right)]));
    }
    let plate = parse(&page(lines));
    let expected = [
        (Field::Hertz, "60/50"),
        (Field::Hp, "3/2"),
        (Field::Volts, "208-230/460 190/380"),
        (Field::Amps, "8.8-8.2/4.1 6.8/3.4"),
        (Field::Rpm, "1755 1445"),
    ];
    for (field, text) in expected {
        assert_eq!(printed(&plate, field).as_deref(), Some(text), "{field}");
        assert_eq!(plate.fields[&field].doubts, Vec::<String>::new(), "{field}");
    }
}

/// What is left of a worn label names nothing: the one usual voltage on the plate is asked, two are left alone.
#[test]
fn a_voltage_whose_label_is_worn_away() {
    let read = |more: &[(u8, u8, &str)]| {
        let cells = [
            (0, 0, "HP"),
            (8, 0, "1/3"),
            (0, 2, "VoLre"),
            (8, 2, "115"),
            (20, 2, "AMPS"),
            (28, 2, "5.9"),
        ];
        let plate = parse(&page(grid(&[&cells, more].concat())));
        let volts = plate.fields.get(&Field::Volts);
        volts.map(|r| (r.candidates[0].printed.clone(), r.doubts.len()))
    };
    assert_eq!(read(&[]), Some(("115".to_owned(), 1)));
    assert_eq!(read(&[(0, 4, "QX"), (8, 4, "230")]), None);
    assert_eq!(
        read(&[(0, 4, "VOLTS"), (8, 4, "208-230")]),
        Some(("208-230".to_owned(), 0))
    );
}
