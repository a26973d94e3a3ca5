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
            name: "the voltage to which it must not be connected",
            lines: rows(&[
                "HP 2  VOLTS 230  AMPS 10.4",
                "CAUTION: DO NOT CONNECT TO 115 VOLTS",
            ]),
            expected: vec![(Volts, "230"), (Hp, "2")],
            not: vec![],
        },
        Case {
            name: "the end from which a rotation is seen, in brackets",
            lines: rows(&["RPM 1075  ROT CCW (opp. shaft end)  ENCL OAO"]),
            expected: vec![(Rotation, "CCW"), (Enclosure, "OAO")],
            not: vec![],
        },
        Case {
            name: "a sign for percent behind the label",
            lines: rows(&["Nom eff % 93.6  Pwr factor % 90  Code G"]),
            expected: vec![
                (NominalEfficiency, "93.6"),
                (PowerFactor, "90"),
                (KvaCode, "G"),
            ],
            not: vec![],
        },
        Case {
            name: "a kind of motor by its capacitor, and a capacitor for starting",
            lines: rows(&[
                "HP 1/2  CAPACITOR START  1 PH",
                "FR 56  CAPACITOR START 400-480 MFD",
            ]),
            expected: vec![(Hp, "1/2"), (Phase, "1"), (Frame, "56")],
            not: vec![CapacitorUf],
        },
        Case {
            name: "the sign for alternating current read as a dash beside the word for a motor",
            lines: rows(&["3-Motor 0G3-200L4  kW 30", "V 400  A 53,8"]),
            expected: vec![(Phase, "3"), (Kw, "30")],
            not: vec![],
        },
        Case {
            name: "a reference of the works",
            lines: rows(&["CEI 34-1  Ref usine 2T04-1996", "kW 0,75  V 400"]),
            expected: vec![(Kw, "0,75")],
            not: vec![Model],
        },
        Case {
            name: "turns in a minute without the raised figure at the head of a column",
            lines: grid(&[
                (0, 0, "V"),
                (10, 0, "Hz"),
                (20, 0, "min?"),
                (30, 0, "kW"),
                (0, 1, "400"),
                (10, 1, "50"),
                (20, 1, "1425"),
                (30, 1, "0,75"),
            ]),
            expected: vec![(Rpm, "1425"), (Hertz, "50"), (Kw, "0,75"), (Volts, "400")],
            not: vec![],
        },
        Case {
            name: "the sign for alternating current between a frequency and the phases",
            lines: rows(&["115 V  1.75 A  60 ~  1 PH", "1/12 H.P.  1725 R.P.M."]),
            expected: vec![(Hertz, "60"), (Phase, "1"), (Volts, "115")],
            not: vec![],
        },
        Case {
            name: "an enclosure in two words behind a number, and the motors that this one replaces",
            lines: rows(&[
                "SER 7T-B08-21960 DRIP PROOF",
                "12 W OUTPUT  REPLACES 9-16 W MOTORS",
            ]),
            expected: vec![
                (Serial, "7T-B08-21960"),
                (Enclosure, "DRIP PROOF"),
                (Kw, "12 W"),
            ],
            not: vec![],
        },
        Case {
            name: "the service factor at which the temperature rises",
            lines: rows(&[
                "SERV FACTOR 1.15  VOLTS 460",
                "TEMP RISE 80°C @ 1.0 SF",
                "USE: CT 4:1 AT 1.0 SF",
            ]),
            expected: vec![(ServiceFactor, "1.15")],
            not: vec![],
        },
        Case {
            name: "several speeds by their names",
            lines: rows(&["HP 1/8  VOLTS 115", "RPM HI 1090 / MED 960 / LO 820"]),
            expected: vec![(Rpm, "1090 960 820")],
            not: vec![],
        },
        Case {
            name: "four speeds by their names",
            lines: rows(&["HP 3/4  VOLTS 115", "F.L. AMPS HI 9.8 MH 8.1 ML 6.9 LO 5.6"]),
            expected: vec![(Amps, "9.8 8.1 6.9 5.6")],
            not: vec![],
        },
        Case {
            name: "how many speeds, behind a power",
            lines: rows(&["HP 3/4  SPD 4  V 115", "A 10.2  RPM 1080"]),
            expected: vec![(Hp, "3/4"), (Amps, "10.2")],
            not: vec![],
        },
        Case {
            name: "the number of a certificate",
            lines: rows(&[
                "FL AMPS 8.6-8.0/4.0  VOLTS 208-230/460",
                "T7 T8 T9  CC 117A",
            ]),
            expected: vec![(Amps, "8.6-8.0/4.0")],
            not: vec![],
        },
        Case {
            name: "a torque behind the amps",
            lines: rows(&["VOLTS 230/460  AMPS 21.4/10.7   TORQUE 33.4 LB-FT"]),
            expected: vec![(Amps, "21.4/10.7")],
            not: vec![],
        },
        Case {
            name: "a direction as shipped, and how to change it",
            lines: rows(&[
                "VOLTS 115",
                "CCW ROTATION FACING SHAFT. TO REVERSE INTERCHANGE RED & BLACK",
            ]),
            expected: vec![(Rotation, "CCW")],
            not: vec![],
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

/// Words of plates in other languages, and letters that stand behind them.
#[test]
fn in_other_languages() {
    use Field::*;
    check(vec![
        Case {
            name: "a current before its duty",
            lines: rows(&["Tension 220/380 V  int. 3,5/2 A", "Serv S1"]),
            expected: vec![(Amps, "3,5/2"), (Duty, "S1")],
            not: vec![],
        },
        Case {
            name: "the class and the rise behind it",
            lines: rows(&["V 220/380", "ISOL F.Δt 80 K", "AMB 40°C"]),
            expected: vec![(InsulationClass, "F"), (AmbientC, "40")],
            not: vec![],
        },
        Case {
            name: "a class whose letter makes another word of its label",
            lines: grid(&[
                (0, 0, "INSULATION"),
                (14, 0, "CLASS E"),
                (0, 1, "VOLTS 230"),
            ]),
            expected: vec![(InsulationClass, "E")],
            not: vec![],
        },
        Case {
            name: "at most",
            lines: rows(&["1~ 230 V 50 Hz", "Umgebungstemp. max. 60 °C", "Kl. F"]),
            expected: vec![(AmbientC, "60"), (InsulationClass, "F")],
            not: vec![],
        },
        Case {
            name: "a duty type whose figure is read as a letter",
            lines: rows(&["Tension 220 V", "Serv SI  Hz 50"]),
            expected: vec![(Duty, "S1")],
            not: vec![],
        },
        Case {
            name: "alternating current",
            lines: rows(&["V 115 ~  Hz 60  A 1.5"]),
            expected: vec![(Volts, "115"), (Hertz, "60"), (Amps, "1.5")],
            not: vec![],
        },
        Case {
            name: "the sign for a number without its circle",
            lines: rows(&["kW 0,75  V 230", "N. 17 06 4429"]),
            expected: vec![(Serial, "17 06 4429")],
            not: vec![],
        },
        Case {
            name: "revolutions a minute of which the sign is half lost",
            lines: rows(&["V 230  n 2850 min~", "kW 0,55"]),
            expected: vec![(Rpm, "2850")],
            not: vec![],
        },
        Case {
            name: "a current alone in its line",
            lines: grid(&[
                (0, 0, "1.9/1.3 A"),
                (20, 0, "3400/2750 RPM"),
                (0, 1, "V 115/230"),
            ]),
            expected: vec![(Amps, "1.9/1.3"), (Rpm, "3400/2750")],
            not: vec![],
        },
        Case {
            name: "a degree of protection with a dash",
            lines: rows(&["Proteccion IP-54  Tension 220 V", "Hz 60"]),
            expected: vec![(Enclosure, "IP-54")],
            not: vec![],
        },
        Case {
            name: "an enclosure of two words, of which one is a label",
            lines: rows(&["ENCL: TOT. ENCL.", "VOLTS 115"]),
            expected: vec![(Enclosure, "TOT. ENCL")],
            not: vec![],
        },
        Case {
            name: "an enclosure with its degree of protection",
            lines: rows(&["ENCLOSURE: TEFC / IP55", "VOLTS 460"]),
            expected: vec![(Enclosure, "TEFC / IP55")],
            not: vec![],
        },
        Case {
            name: "a voltage that a note speaks of, and the supply of a blower",
            lines: rows(&[
                "VOLTS 220/440  AMPS 98/49",
                "FOR 208 VOLT CIRCUITS CONSULT FACTORY",
                "BLOWER MOTOR: 115 V 1 PH 60 HZ 0.9 A",
            ]),
            expected: vec![(Volts, "220/440"), (Amps, "98/49")],
            not: vec![Phase, Hertz],
        },
        Case {
            name: "a class of radio disturbance",
            lines: rows(&["INSUL. CLASS F  VOLTS 115", "FCC Part 15 Class B"]),
            expected: vec![(InsulationClass, "F")],
            not: vec![],
        },
        Case {
            name: "a voltage behind which a dot of dirt stands",
            lines: rows(&["V~ 120. Hz 60", "FLA 1.20"]),
            expected: vec![(Volts, "120"), (Hertz, "60")],
            not: vec![],
        },
        Case {
            name: "an interface in small letters",
            lines: rows(&["Program 0A33-1200CFM", "Comm. 16-pin serial", "V 115"]),
            expected: vec![(Volts, "115")],
            not: vec![Serial],
        },
        Case {
            name: "speeds between which it is driven",
            lines: rows(&["FLA 6.8/4.0  RPM 1050 VAR. 600-1200", "INS CL B"]),
            expected: vec![(Rpm, "1050"), (InsulationClass, "B")],
            not: vec![],
        },
        Case {
            name: "an efficiency for one frequency",
            lines: rows(&[
                "V 460  HZ 60",
                "60Hz: NEMA Nom. Eff. 86.5%",
                "Code K  SF 1.0  Des. B",
            ]),
            expected: vec![
                (NominalEfficiency, "86.5"),
                (KvaCode, "K"),
                (ServiceFactor, "1.0"),
                (Design, "B"),
            ],
            not: vec![],
        },
        Case {
            name: "the west of a town",
            lines: rows(&["MORGANTON W. VA.", "          220/440", "RPM 1160"]),
            expected: vec![(Volts, "220/440"), (Rpm, "1160")],
            not: vec![Kw],
        },
        Case {
            name: "an efficiency beside the number of leads",
            lines: grid(&[
                (0, 0, "NOM. EFF."),
                (14, 0, "LEADS"),
                (0, 1, "95.8%"),
                (14, 1, "12"),
            ]),
            expected: vec![(NominalEfficiency, "95.8")],
            not: vec![],
        },
        Case {
            name: "amps at the service factor",
            lines: rows(&[
                "Corriente 18.6/10.2 A  Tension 127/220 V",
                "Corriente a F.S. 20.8/11.4 A",
            ]),
            expected: vec![(Amps, "18.6/10.2"), (ServiceFactorAmps, "20.8/11.4")],
            not: vec![],
        },
    ]);
}

/// A stamped decimal point that is read as a sign, where the detector cuts the number in two, leaves half a current.
#[test]
fn a_sign_between_figures_is_asked() {
    let asked = |sign: f32, figure: f32| {
        let lines = vec![
            line(20.0, 20.0, "VOLTS 575"),
            line(20.0, 50.0, "AMPS"),
            line(92.0, 50.0, "10"),
            line(sign, 50.0, "Φ"),
            line(figure, 50.0, "2"),
            line(20.0, 80.0, "HZ 60"),
        ];
        let plate = parse(&page(lines));
        let doubts = &plate.fields[&Field::Amps].doubts;
        doubts.iter().any(|doubt| doubt.contains("right behind it"))
    };
    assert!(asked(116.0, 129.0));
    assert!(!asked(400.0, 500.0));
}
