//! Where the numbers of models and motors begin and end, and when one is a model that no label announces. Wordings: common
//! practice.

use super::*;

/// The doubts of a field, where it was read.
fn doubts(lines: &[&str], field: Field) -> Option<Vec<String>> {
    let plate = parse(&page(rows(lines)));
    Some(plate.fields.get(&field)?.doubts.clone())
}

#[test]
fn they_end_before_words_and_other_numbers() {
    use Field::*;
    let case = |name, line: &str, field, number| Case {
        name,
        lines: rows(&[line, "VOLTS 115", "HZ 60"]),
        expected: vec![(field, number)],
        not: vec![],
    };
    check(vec![
        case(
            "a company",
            "SERIAL 77K-50913  CALDER & SONS, WESTMERE",
            Serial,
            "77K-50913",
        ),
        case("a lot", "MODEL OB-10-277-3 LOT R0609", Model, "OB-10-277-3"),
        case(
            "a revision",
            "MODEL PBI-2301-15 REV C",
            Model,
            "PBI-2301-15",
        ),
        case(
            "a short label",
            "S/N 20514338-0017 P/C 2306",
            Serial,
            "20514338-0017",
        ),
        case(
            "letters of its own",
            "MODEL KFT 90L/4 TF",
            Model,
            "KFT 90L/4 TF",
        ),
    ]);
    let all_sure = |line: &str, field| {
        let doubts = doubts(&[line, "VOLTS 115", "HZ 60"], field);
        assert_eq!(doubts.as_deref(), Some(&[][..]), "{line}");
    };
    all_sure("SERIAL 77K-50913  CALDER & SONS, WESTMERE", Serial);
    all_sure("MODEL OB-10-277-3 LOT R0609", Model);
    all_sure("SER NO 6604418 KM", Serial);
}

#[test]
fn one_that_begins_with_a_separator_may_have_lost_its_first_figures() {
    let begins = |doubts: Option<Vec<String>>| {
        doubts.is_some_and(|all| all.iter().any(|doubt| doubt.contains("begins with")))
    };
    let far = grid(&[(0, 0, "MODEL"), (12, 0, "-5518-C"), (0, 1, "VOLTS 115")]);
    let plate = parse(&page(far));
    assert!(begins(Some(plate.fields[&Field::Model].doubts.clone())));
    // Right behind its label the dash is the label's.
    let close = doubts(&["SN-66120418", "VOLTS-115", "AMPS-2.6"], Field::Serial);
    assert!(close.is_some() && !begins(close));
}

#[test]
fn leads_and_sentences_are_none() {
    use Field::*;
    check(vec![Case {
        name: "leads below a label",
        lines: rows(&[
            "MODEL NTD-20/5-2W",
            "LINES T11-T12-T13 LOW SPEED",
            "VOLTS 460",
        ]),
        expected: vec![(Model, "NTD-20/5-2W")],
        not: vec![],
    }]);
    let serial = doubts(&["SERIAL", "TO 1 AND 4, JOIN 2-3", "VOLTS 115"], Serial);
    assert!(serial.is_none_or(|all| !all.is_empty()));
}

/// Letters that are a label elsewhere, a bearing or the power taken, begin a number behind its label.
#[test]
fn their_first_letters_are_no_labels() {
    use Field::*;
    let case = |line: &str, number| Case {
        name: "first letters",
        lines: rows(&[line, "VOLTS 115"]),
        expected: vec![(Serial, number)],
        not: vec![Kw],
    };
    check(vec![
        case("SER DE-51127", "DE-51127"),
        case("S/N P1 1836 0044", "P1 1836 0044"),
    ]);
}

/// The only designation of a plate that stands apart from all other words is its model; any other is offered and never
/// sure.
#[test]
fn a_model_without_a_label() {
    let sure = |lines: &[&str]| doubts(lines, Field::Model).is_some_and(|all| all.is_empty());
    assert!(sure(&["CV9-115CW-K", "VOLTS 115", "AMPS 0.55"]));
    assert!(sure(&["CV9-115CW-K  1/20 HP", "VOLTS 115", "AMPS 0.55"]));
    // Another beside it, a word that may name it, a letter that may be a part of it.
    assert!(!sure(&["CV9-115CW-K", "KT-2204-B", "VOLTS 115"]));
    assert!(!sure(&["RECTIFIER RG-400X", "VOLTS 115"]));
    assert!(!sure(&["VE4E-350 S", "VOLTS 115"]));
    // No designations: a standard, terminals.
    assert_eq!(doubts(&["DIN-42673-1", "VOLTS 115"], Field::Model), None);
    assert_eq!(doubts(&["TB1-TB2", "VOLTS 115"], Field::Model), None);
}

/// NO. alone announces either number; one of figures counts motors.
#[test]
fn a_number_of_figures_is_the_serial_number() {
    let sure = |line: &str| {
        let serial = doubts(&[line, "VOLTS 115", "AMPS 2.6"], Field::Serial);
        serial.is_some_and(|all| all.is_empty())
    };
    assert!(sure("NO 1306852"));
    assert!(sure("NO 1907-3382"));
    assert!(!sure("NO PW-9E115CW"));
    assert!(sure("MOTOR NO 318840"));
    assert!(sure("MOTOR NO K 48213/6"));
    let model = doubts(&["MOTOR NO ZF-0825-16HP", "VOLTS 115"], Field::Model);
    assert_eq!(model.as_deref(), Some(&[][..]));
}

/// What stands behind TYPE tells a motor from others where it is letters, a dash and figures; it goes before the numbers of
/// styles and parts, and beside it nothing without a label is sure.
#[test]
fn a_short_code_behind_type() {
    use Field::*;
    let case = |name, lines: &[&str], number| Case {
        name,
        lines: rows(lines),
        expected: vec![(Model, number)],
        not: vec![],
    };
    check(vec![
        case("a short code", &["TYPE KD-4  HP 2", "VOLTS 115"], "KD-4"),
        case(
            "beside a style and a part",
            &["TYPE HS-3PC  HP 2", "STYLE R4", "PART NO. 111-0341-R7"],
            "HS-3PC",
        ),
        case(
            "beside a catalogue number",
            &["TYPE KD-4  HP 2", "CAT. NO. H-60731"],
            "H-60731",
        ),
        case(
            "beside a number of a form",
            &["TYPE KG-2  HP 2", "NP-2260-A"],
            "KG-2",
        ),
        case(
            "beside a standard",
            &["TYPE EC-215A-10S  HP 2", "MG1 PART 30"],
            "EC-215A-10S",
        ),
        case(
            "beside a number of a customer",
            &["MOTOR NO. CD4-39-4417  HP 2", "CUST P/N K77-00430"],
            "CD4-39-4417",
        ),
        case(
            "with letters that are a label elsewhere",
            &["Model PH-364LP-4V Serial No. 16-2247-B", "Volts 460"],
            "PH-364LP-4V",
        ),
    ]);
    let sure = |lines: &[&str]| doubts(lines, Model).is_some_and(|all| all.is_empty());
    assert!(sure(&["TYPE TV-6A  HP 2", "VOLTS 115"]));
    assert!(!sure(&["TYPE MV-PCH  HP 2", "STYLE 61-184-22"]));
    assert!(!sure(&["TYPE W-FB  HP 2", "CV9-115CW-K"]));
    assert!(!sure(&["CUST P/N K77-00430", "VOLTS 115"]));
    // Letters with a dash are one where no other number is.
    assert!(sure(&["TYPE CD-K  HP 2", "VOLTS 115"]));
    // A kind of winding, a mounting.
    assert_eq!(doubts(&["TYPE PSC  HP 2", "VOLTS 115"], Model), None);
    assert_eq!(doubts(&["TYPE CAP-ST  HP 2", "VOLTS 115"], Model), None);
    assert_eq!(doubts(&["TYPE B3  HP 2", "VOLTS 115"], Model), None);
}
