//! The judgement as a whole: what is clear, what is doubtful and why, and what is asked.

use super::*;
use crate::photo::Quad;
use crate::plate::{Candidate, Other, Word};
use crate::record::{Class, notation};
use crate::text::Lattice;
use proptest::prelude::*;

/// A plate from `volts=230 amps=6.8:0.9|68:0.05 hp=1/2`: candidates with their probability (0.9995 when not
/// given), `_` for blanks, `"WORD` for a word beside the fields, `kind~printed` for other items.
fn plate(text: &str) -> Plate {
    let mut plate = Plate::default();
    for item in text.split_whitespace() {
        if let Some(word) = item.strip_prefix('"') {
            plate.words.push(Word {
                text: word.to_owned(),
                confidence: 0.99,
                quad: Quad::default(),
                lattice: Lattice::from_text(word),
            });
        } else if let Some((kind, printed)) = item.split_once('~') {
            plate.other.push(Other {
                kind: kind.to_owned(),
                printed: printed.to_owned(),
                quad: Quad::default(),
            });
        } else {
            let (key, printed) = item.split_once('=').expect(item);
            let field = Field::from_key(key).expect(key);
            let candidates = printed.split('|').map(|c| {
                let (printed, p) = c.split_once(':').unwrap_or((c, "0.9995"));
                let printed = printed.replace('_', " ");
                Candidate {
                    value: notation::parse(field, &printed).expect(item),
                    printed,
                    probability: p.parse().expect(item),
                }
            });
            let candidates = candidates.collect();
            plate.fields.insert(
                field,
                FieldReading {
                    candidates,
                    association: 1.0,
                    label: None,
                    quad: Quad::default(),
                    doubts: Vec::new(),
                    claims: Vec::new(),
                    open: None,
                    seconded: None,
                },
            );
        }
    }
    plate
}

fn judged(text: &str) -> Judgement {
    judge(&plate(text), &Settings::default())
}

fn state(judgement: &Judgement, field: Field) -> State {
    judgement.fields[&field].state
}

/// Fields that are read and not clear.
fn doubtful(judgement: &Judgement) -> Vec<Field> {
    judgement
        .fields
        .iter()
        .filter(|f| f.1.state == State::Doubtful)
        .map(|f| *f.0)
        .collect()
}

/// Plates of real kinds of motors. Source: NEC Tables 430.248 and 430.250, MG 1 Part 13 frames and Table
/// 12-12 efficiencies for the NEMA ones, `typical_fan_motor_amps.csv` for fan motors (mostly trade memory);
/// IEC figures from memory. Class clear or not as given.
const SOUND: &[(&str, Option<Class>)] = &[
    (
        "hp=5 volts=208-230/460 amps=14.2-12.9/6.5 rpm=1750 phase=3 hertz=60 frame=184T enclosure=ODP insulation_class=B duty=CONT service_factor=1.15 kva_code=H nominal_efficiency=89.5 ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1/2 volts=208-230 amps=5.2-4.8 rpm=3450 phase=1 hertz=60 frame=48 enclosure=TEFC insulation_class=F duty=CONT service_factor=1.15 service_factor_amps=5.6-5.1 kva_code=K ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1/2-1/3-.25 volts=208-230 amps=3.5-2.2-1.8 rpm=1075 phase=1 hertz=60 frame=48 enclosure=OAO capacitor_uf=7.5 capacitor_volts=370 insulation_class=B duty=CONT rotation=CW_LE ambient_c=50",
        Some(Class::AirOver),
    ),
    (
        "hp=.5 volts=460 amps=1.9 rpm=1075 phase=1 hertz=60 frame=48Y enclosure=TE-AO capacitor_uf=7.5 capacitor_volts=370 insulation_class=B duty=A.O. rotation=CCWSE ambient_c=60",
        Some(Class::AirOver),
    ),
    (
        "hp=1/4 volts=208-230 amps=1.4 rpm=825 phase=1 hertz=60 frame=48 capacitor_uf=10 capacitor_volts=370 rotation=CCWLE",
        None,
    ),
    (
        "kw=0.75 volts=230/400 amps=3.0/1.7 rpm=1420 phase=3 hertz=50 frame=80M enclosure=IP54 insulation_class=H duty=S1 power_factor=0.76",
        Some(Class::GeneralPurpose),
    ),
    (
        "kw=11 volts=400/690 amps=20.4/11.8 rpm=1470 phase=3 hertz=50 frame=160M enclosure=IP54 insulation_class=155(F) duty=S1 ambient_c=40 power_factor=0.85",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1-1/2 volts=230/460 amps=4.2/2.1 rpm=1725 phase=3 hertz=60 frame=145T enclosure=DRIPPROOF insulation_class=B duty=CONT service_factor=1.15 service_factor_amps=4.8/2.4 kva_code=K design=B ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=20 volts=208-230/460 amps=54.1-50.9/25.4 rpm=1175 phase=3 hertz=60 frame=286T enclosure=TE-FC insulation_class=F duty=CONT service_factor=1.15 kva_code=G design=B ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=5/1 volts=460 amps=7.5/2.7 rpm=1725/850 phase=3 hertz=60 frame=182T enclosure=TE-FC insulation_class=B duty=CONT service_factor=1.15 kva_code=L ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1 volts=115/208-230 amps=14.8/7.8-7.4 rpm=1725 phase=1 hertz=60 frame=56 enclosure=ODP insulation_class=F duty=CONT service_factor=1.15 kva_code=K ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1 volts=230/460 amps=3.1/1.6 rpm=1750 phase=3 hertz=60 frame=143T enclosure=ODP service_factor=1.15 kva_code=K design=B nominal_efficiency=82.5 power_factor=74.4",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=200 volts=460 amps=225.8 rpm=1785 phase=3 hertz=60 frame=447T enclosure=TEFC service_factor=1.15 kva_code=G nominal_efficiency=95.8 power_factor=86.5",
        Some(Class::GeneralPurpose),
    ),
    (
        "hp=1/3 volts=115 amps=6.6 rpm=1725 phase=1 hertz=60 frame=48 enclosure=ODP service_factor=1.35 kva_code=L",
        Some(Class::GeneralPurpose),
    ),
    ("hp=1/60 volts=120 amps=0.35 rpm=850 phase=1 hertz=60", None),
    (
        "kw=0.006 volts=115 amps=0.48 rpm=1500 phase=1 hertz=60 enclosure=TENV insulation_class=F \"SHADED \"POLE",
        None,
    ),
    (
        "hp=3 volts=230 amps=15.5 rpm=3450 phase=1 hertz=60 frame=145T enclosure=TEFC service_factor=1.15 kva_code=G",
        Some(Class::GeneralPurpose),
    ),
    // A permanent-magnet motor behind a drive turns without slip, at a frequency of its own.
    (
        "hp=3 volts=460 amps=3.5 rpm=1800 phase=3 hertz=120 frame=145TC enclosure=TENV insulation_class=F duty=CONT service_factor=1.0 nominal_efficiency=92.4 ambient_c=40",
        Some(Class::GeneralPurpose),
    ),
    // Three speeds of a fan: the power is that of the highest.
    (
        "hp=1/8 volts=277 amps=0.62/0.48/0.35 rpm=1050/900/750 phase=1 hertz=60 frame=42Y enclosure=TENV capacitor_uf=4 capacitor_volts=440 rotation=CW_LE",
        None,
    ),
];

#[test]
fn sound_plates_raise_no_doubt() {
    let mut wrong = Vec::new();
    for (text, class) in SOUND {
        let judgement = judged(text);
        let failing: Vec<&CheckOutcome> = judgement
            .checks
            .iter()
            .filter(|c| c.outcome == Outcome::Doubt)
            .collect();
        if !doubtful(&judgement).is_empty() || !failing.is_empty() {
            wrong.push(format!(
                "{text}\n   doubtful {:?} {failing:#?}",
                doubtful(&judgement)
            ));
        }
        if judgement.class.fact() != *class {
            wrong.push(format!("{text}\n   class {:?}", judgement.class));
        }
        let asked: Vec<&str> = judgement
            .questions
            .iter()
            .map(|q| q.field.as_str())
            .collect();
        let expected: &[&str] = if class.is_none() { &["class"] } else { &[] };
        if asked != expected {
            wrong.push(format!("{text}\n   asks {asked:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Every value that is implausible on a plate that is sound otherwise is doubtful.
#[test]
fn planted_values_are_flagged() {
    let swap = |text: &str, from: &str, to: &str| {
        let swapped = text.replace(from, to);
        assert_ne!(swapped, text, "{from}");
        swapped
    };
    let cases = [
        (0, "amps=14.2-12.9/6.5", "amps=142-129/65", Field::Amps),
        (0, "amps=14.2-12.9/6.5", "amps=6.5-12.9/14.2", Field::Amps),
        (0, "rpm=1750", "rpm=1850", Field::Rpm),
        (0, "volts=208-230/460", "volts=208-203/460", Field::Volts),
        (
            0,
            "service_factor=1.15",
            "service_factor=11.5",
            Field::ServiceFactor,
        ),
        (
            0,
            "service_factor=1.15",
            "service_factor=1.51",
            Field::ServiceFactor,
        ),
        (0, "frame=184T", "frame=184", Field::Frame),
        (0, "frame=184T", "frame=183T", Field::Frame),
        (
            0,
            "nominal_efficiency=89.5",
            "nominal_efficiency=99.5",
            Field::NominalEfficiency,
        ),
        (
            0,
            "nominal_efficiency=89.5",
            "nominal_efficiency=44.5",
            Field::NominalEfficiency,
        ),
        (0, "kva_code=H", "kva_code=I", Field::KvaCode),
        (0, "phase=3", "phase=1", Field::Phase),
        (
            1,
            "service_factor_amps=5.6-5.1",
            "service_factor_amps=4.4-4.1",
            Field::ServiceFactorAmps,
        ),
        (1, "amps=5.2-4.8", "amps=52-48", Field::Amps),
        (1, "amps=5.2-4.8", "amps=0.52-0.48", Field::Amps),
        (2, "amps=3.5-2.2-1.8", "amps=35-22-18", Field::Amps),
        (3, "volts=460", "volts=640", Field::Volts),
        (3, "amps=1.9", "amps=19", Field::Amps),
        (3, "capacitor_uf=7.5", "capacitor_uf=75", Field::CapacitorUf),
        (
            3,
            "capacitor_volts=370",
            "capacitor_volts=870",
            Field::CapacitorVolts,
        ),
        (3, "rpm=1075", "rpm=1750", Field::Rpm),
        (3, "hertz=60", "hertz=80", Field::Hertz),
        (4, "rpm=825", "rpm=258", Field::Rpm),
        (4, "hp=1/4", "hp=14", Field::Hp),
        (
            5,
            "power_factor=0.76",
            "power_factor=0.18",
            Field::PowerFactor,
        ),
        (
            6,
            "power_factor=0.85",
            "power_factor=1.86",
            Field::PowerFactor,
        ),
        (6, "kw=11", "kw=1.1", Field::Kw),
        (6, "kw=11", "kw=11 hp=1.5", Field::Hp),
        (13, "rpm=1725", "rpm=1275", Field::Rpm),
        (13, "amps=6.6", "amps=66", Field::Amps),
    ];
    let mut wrong = Vec::new();
    for (sound, from, to, field) in &cases {
        let text = swap(SOUND[*sound].0, from, to);
        let judgement = judged(&text);
        if state(&judgement, *field) != State::Doubtful {
            wrong.push(format!("{text}: {field} is {:?}", judgement.fields[field]));
        }
        let known = doubtful(&judgement);
        if known.len() > 2 {
            wrong.push(format!("{text}: doubts too much: {known:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// One power beside two frequencies is that at both: amps of the lower speed are judged as well.
#[test]
fn amps_at_another_frequency_are_judged() {
    let outcome = |amps: &str| {
        let plate = format!("hp=5 volts=460_380 amps={amps} rpm=1750_1450 phase=3 hertz=60_50");
        let checks = judged(&plate).checks;
        checks
            .into_iter()
            .find(|c| c.rule == "amps-power")
            .map(|c| c.outcome)
    };
    assert_eq!(outcome("6.5_7.6"), Some(Outcome::Ok));
    assert_eq!(outcome("6.5_0.76"), Some(Outcome::Doubt));
}

#[test]
fn a_printed_value_is_never_overwritten() {
    let judgement = judged("hp=1/2 volts=230 amps=68 phase=1 hertz=60 rpm=1725");
    let amps = &judgement.fields[&Field::Amps];
    assert_eq!(amps.printed.as_deref(), Some("68"));
    assert_eq!(amps.state, State::Doubtful);
    let question = judgement
        .questions
        .iter()
        .find(|q| q.field == "amps")
        .expect("a question");
    assert!(
        question
            .ask
            .contains("68 A at 230 V for 0.5 hp needs efficiency x power factor 0.02"),
        "{}",
        question.ask
    );
}

#[test]
fn plausibility_settles_what_looks_alike() {
    // The characters alone do not tell 6.8 from 68, nor 1725 from 1225.
    let judgement = judged(
        "hp=1/2 volts=115/230 amps=8.8/4.4:0.5|88/44:0.48 phase=1 hertz=60 rpm=1725:0.6|1225:0.38 kva_code=K",
    );
    let amps = &judgement.fields[&Field::Amps];
    assert_eq!(amps.printed.as_deref(), Some("8.8/4.4"));
    assert!(amps.confidence > 0.97, "{}", amps.confidence);
    assert!(judgement.fields[&Field::Rpm].confidence > 0.9);
    // A plausible reading that looks far less likely stays a question.
    let judgement = judged("hp=1/2 volts=115 amps=88:0.97|8.8:0.02 phase=1 hertz=60");
    assert_eq!(state(&judgement, Field::Amps), State::Doubtful);
}

#[test]
fn support_raises_confidence_and_contradiction_lowers_it() {
    let confidence = |text: &str| judged(text).fields[&Field::Amps].confidence;
    let alone = confidence("amps=12.8/6.4:0.97");
    let supported = confidence("amps=12.8/6.4:0.97 volts=230/460 hp=5 phase=3");
    let contradicted = confidence("amps=12.8/6.4:0.97 volts=230/460 hp=50 phase=3");
    assert!((alone - 0.97).abs() < 1e-9);
    assert!(supported > 0.985, "{supported}");
    assert!(contradicted < 0.9, "{contradicted}");
}

#[test]
fn free_text_rests_on_its_characters_alone() {
    let judgement = judged("model=P69-651:0.96 serial=65Y1738:0.999");
    assert_eq!(state(&judgement, Field::Model), State::Doubtful);
    assert_eq!(state(&judgement, Field::Serial), State::Clear);
    // Neither is ever asked for.
    assert!(
        judgement.questions.iter().all(|q| q.field == "class"),
        "{:?}",
        judgement.questions
    );
}

#[test]
fn what_is_not_there_says_which_of_the_two() {
    let mut plate = plate("volts=230 hp=1/2 phase=1");
    plate.unreadable.insert(Field::Amps, Quad::default());
    let judgement = judge(&plate, &Settings::default());
    assert_eq!(
        judgement.fields[&Field::Amps].reasons,
        ["a label is there, its value cannot be read"]
    );
    assert_eq!(
        judgement.fields[&Field::Rpm].reasons,
        ["the plate does not seem to show it"]
    );
    assert_eq!(judgement.fields.len(), Field::ALL.len());
    assert!(
        judgement
            .questions
            .iter()
            .any(|q| q.field == "amps" && q.choices.is_empty())
    );
}

/// A value in a place that another label claims, and that everything else speaks against, is told as not read; one that is
/// as odd beside its own label stays and is asked.
#[test]
fn a_stray_value_does_not_doubt_what_stands_firm() {
    let text = "hp=20 kw=0.06 volts=460 amps=25 phase=3 hertz=60 rpm=1765";
    let labelled = judged(text);
    assert_ne!(state(&labelled, Field::Kw), State::Absent);
    let mut plate = plate(text);
    let place = plate.fields.get_mut(&Field::Kw).expect("it was read");
    place.association = 0.5;
    place.doubts.push(crate::plate::ANOTHERS.to_owned());
    let stray = judge(&plate, &Settings::default());
    assert_eq!(state(&stray, Field::Kw), State::Absent);
    assert_eq!(state(&stray, Field::Hp), State::Clear);
}

#[test]
fn a_doubt_of_the_layout_is_a_doubt() {
    let mut plate = plate("volts=230 amps=3.5 hp=1/2 phase=1 enclosure=TEAO");
    if let Some(amps) = plate.fields.get_mut(&Field::Amps) {
        amps.doubts
            .push("two places give amps, and they disagree".to_owned());
    }
    let judgement = judge(&plate, &Settings::default());
    assert_eq!(state(&judgement, Field::Amps), State::Doubtful);
    assert_eq!(judgement.questions[0].field, "amps");
    assert!(judgement.questions[0].ask.contains("two places give amps"));
}

/// Watts that are too few for the volt-amperes to be taken from the line are the shaft's; above the full-load amps of a
/// motor with a service factor stand its amps at that (power factors: `open.rs`).
#[test]
fn other_figures_settle_what_a_label_leaves_open() {
    let clear = |text: &str, field: Field, open: Open| {
        let mut plate = plate(text);
        let reading = plate.fields.get_mut(&field).expect("a field of the plate");
        reading.open = Some(open);
        state(&judge(&plate, &Settings::default()), field) == State::Clear
    };
    let watts = |text| clear(text, Field::Kw, Open::InputOrShaft);
    assert!(watts("volts=115 amps=0.58 phase=1 kw=0.009"));
    assert!(!watts("volts=115 amps=0.58 phase=1 kw=0.038"));
    assert!(!watts("volts=115 phase=1 kw=0.009"));
    let over = |text| {
        clear(
            text,
            Field::ServiceFactorAmps,
            Open::FullLoadOrServiceFactor,
        )
    };
    assert!(over(
        "amps=9.8/4.9 service_factor=1.25 service_factor_amps=11.6/5.8"
    ));
    assert!(!over(
        "amps=9.8/4.9 service_factor=1.0 service_factor_amps=11.6/5.8"
    ));
    assert!(!over("amps=9.8/4.9 service_factor_amps=11.6/5.8"));
    let most = |text| clear(text, Field::Amps, Open::FullLoadOrServiceFactor);
    assert!(most("volts=115 amps=8.5 hp=1/2"));
    assert!(most("volts=115 amps=8.5 hp=1/2 service_factor=1.0"));
    assert!(!most("volts=115 amps=8.5 hp=1/2 service_factor=1.25"));
}

/// What another place says is no contradiction where the plate excludes it: no motor of a horsepower takes 118 A.
#[test]
fn what_the_plate_excludes_contradicts_nothing() {
    let beside = |text: &str, field: Field, other: &str| {
        let mut plate = plate(text);
        if let Some(place) = plate.fields.get_mut(&field) {
            let value = notation::parse(field, other).expect(other);
            let (printed, probability) = (other.to_owned(), 0.9);
            let other = Candidate {
                printed,
                value,
                probability,
            };
            place.claims = vec![place.candidates[0].clone(), other];
        }
        state(&judge(&plate, &Settings::default()), field)
    };
    let motor = "volts=230 amps=6.0 hp=2 phase=3 rpm=1740 hertz=60 enclosure=TEFC";
    assert_eq!(beside(motor, Field::Amps, "118"), State::Clear);
    assert_eq!(beside(motor, Field::Amps, "6.4"), State::Doubtful);
    assert_eq!(beside(motor, Field::Hertz, "90"), State::Clear);
    assert_eq!(beside(motor, Field::Hertz, "50"), State::Doubtful);
}

#[test]
fn rows_that_do_not_pair_up_are_asked_with_both_rows() {
    let judgement = judged(
        "hp=5 volts=208-230/460 amps=13.6/12.8 rpm=1750 phase=3 hertz=60 enclosure=TEFC hp=5",
    );
    let unpaired = judged("hp=5 volts=230/460 amps=12.8 rpm=1750 phase=3 hertz=60 enclosure=TEFC");
    assert_eq!(unpaired.questions.len(), 1, "{:?}", unpaired.questions);
    let question = &unpaired.questions[0];
    assert_eq!(question.field, "ratings");
    assert!(
        question.ask.contains("230/460") && question.ask.contains("12.8"),
        "{}",
        question.ask
    );
    assert_eq!(state(&unpaired, Field::Amps), State::Doubtful);
    assert_eq!(state(&judgement, Field::Amps), State::Doubtful);
    // The shorter row misses a value.
    assert_eq!(state(&unpaired, Field::Volts), State::Clear);
    let speeds = judged("hp=1/2-1/3 volts=115 amps=7.8-6.1-5 rpm=1075 phase=1 hertz=60 frame=48");
    assert_eq!(state(&speeds, Field::Hp), State::Doubtful);
    assert_eq!(state(&speeds, Field::Amps), State::Clear);
    // A speed that is none of a motor with so many poles as the plate says.
    let poles = |words: &str| {
        let plate =
            format!("kw=16_W volts=230 amps=0.55 rpm=1550 phase=1 hertz=60 enclosure=TEAO {words}");
        state(&judged(&plate), Field::Rpm)
    };
    assert_eq!(poles("\"6 \"POLE"), State::Doubtful);
    assert_eq!(poles("\"4 \"POLE"), State::Clear);
    assert_eq!(poles("\"4/6 \"POLES"), State::Clear);
    assert_eq!(poles("\"SHADED \"POLE"), State::Clear);
    // Several currents that stand against the power are doubtful beside it.
    let currents = judged(
        "hp=2 volts=115/230 amps=42/21 rpm=1740 phase=1 hertz=60 frame=145T service_factor=1.15",
    );
    assert_eq!(state(&currents, Field::Amps), State::Doubtful);
    // Of two speeds one current and one speed lie under glare.
    let glare = judged("hp=1/2-1/6 volts=115 amps=7.8 rpm=1725 phase=1 hertz=60 frame=56");
    assert_eq!(state(&glare, Field::Rpm), State::Doubtful);
    let whole = judged("hp=1/2-1/6 volts=115 amps=7.8-3.1 rpm=1725 phase=1 hertz=60 frame=56");
    assert_eq!(state(&whole, Field::Rpm), State::Clear);
}

#[test]
fn classes() {
    struct Case(&'static str, Class, State);
    let cases = [
        Case("enclosure=TEAO amps=3.5", Class::AirOver, State::Clear),
        Case(
            "enclosure=OPEN duty=AIR_OVER amps=3.5",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "amps=3.5 \"CONT. \"AIR \"OVER",
            Class::AirOver,
            State::Clear,
        ),
        Case("amps=3.5 \"AIROVER", Class::AirOver, State::Clear),
        Case("amps=3.5 \"IC418", Class::AirOver, State::Clear),
        Case("amps=3.5 \"IC \"418", Class::AirOver, State::Clear),
        Case(
            "amps=3.5 \"AIRSTREAM \"COOLED",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "enclosure=IP55 amps=3.5 \"COOLED \"BY \"FAN \"AIRSTREAM",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "enclosure=IP55 amps=3.5 \"COOLED \"BY \"FAN \"AIR.",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "enclosure=IP54 amps=3.5 \"AIRSTREAM \"MOUNTED \"ONLY",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "enclosure=TEFC amps=3.5 \"KEEP \"OUT \"OF \"AIR \"STREAM",
            Class::GeneralPurpose,
            State::Clear,
        ),
        Case(
            "enclosure=FAN_COOLED:0.9 amps=3.5 \"AIR \"FLOW \"REQUIRED \"OVER \"MOTOR",
            Class::AirOver,
            State::Clear,
        ),
        Case(
            "enclosure=TEFC amps=3.5 \"NO \"AIR \"FLOW \"NEEDED \"OVER \"MOTOR",
            Class::GeneralPurpose,
            State::Clear,
        ),
        // Common practice; without its separators it may be a part of something else.
        Case("amps=3.5 \"A/O", Class::AirOver, State::Clear),
        Case("amps=3.5 \"A.O.", Class::AirOver, State::Clear),
        Case("amps=3.5 \"AO", Class::AirOver, State::Doubtful),
        Case(
            "enclosure=TEAO:0.7|TEFC:0.25 amps=3.5",
            Class::AirOver,
            State::Doubtful,
        ),
        Case(
            "enclosure=TEFC:0.7|TEAO:0.25 amps=3.5",
            Class::GeneralPurpose,
            State::Doubtful,
        ),
        Case(
            "enclosure=TEFC amps=3.5 \"AIR \"OVER",
            Class::AirOver,
            State::Doubtful,
        ),
        Case(
            "enclosure=TEFC amps=3.5",
            Class::GeneralPurpose,
            State::Clear,
        ),
        Case(
            "enclosure=TENV hp=1 phase=3",
            Class::Unknown,
            State::Doubtful,
        ),
        Case(
            "enclosure=TENV hp=1 phase=3 service_factor=1.15",
            Class::GeneralPurpose,
            State::Clear,
        ),
        Case(
            "enclosure=ODP hp=5 phase=3 rpm=1750 hertz=60",
            Class::GeneralPurpose,
            State::Clear,
        ),
        Case(
            "enclosure=ODP hp=1/3 phase=1 rpm=1075 hertz=60 frame=48Y capacitor_uf=5",
            Class::AirOver,
            State::Doubtful,
        ),
        Case(
            "hp=1/3 phase=1 rpm=1075 hertz=60 frame=48Y",
            Class::AirOver,
            State::Doubtful,
        ),
        Case(
            "hp=5 phase=3 rpm=1750 frame=184T service_factor=1.15",
            Class::GeneralPurpose,
            State::Doubtful,
        ),
        Case("amps=3.5", Class::Unknown, State::Doubtful),
    ];
    let mut wrong = Vec::new();
    for Case(text, class, state) in cases {
        let got = judged(text).class;
        if (got.value, got.state) != (class, state) {
            wrong.push(format!("{text}: {got:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn questions_ask_for_what_decides() {
    let asked = |text: &str| {
        judged(text)
            .questions
            .iter()
            .map(|q| q.field.clone())
            .collect::<Vec<_>>()
    };
    // Power is a label on an air-over motor, amps on a general-purpose one.
    assert_eq!(
        asked("enclosure=TEAO amps=3.5:0.8|3.6:0.15 hp=1/2:0.8|1/3:0.1 volts=230 phase=1"),
        ["amps"]
    );
    assert_eq!(
        asked("enclosure=TEFC amps=3.5:0.8|3.6:0.15 hp=1/2:0.8|1/3:0.1 volts=230 phase=1"),
        ["hp"]
    );
    assert_eq!(
        asked(
            "enclosure=TEFC kva_code=K:0.6|H:0.3 design=B:0.6 hp=5 volts=230 phase=3 model=X1:0.5"
        ),
        Vec::<String>::new()
    );
    let question = &judged("enclosure=TEFC hp=1/2:0.8|1/3:0.1 volts=230 phase=1").questions[0];
    assert_eq!(question.choices, ["1/2", "1/3"]);
    assert!(
        question
            .ask
            .starts_with("Does the plate say horsepower 1/2"),
        "{}",
        question.ask
    );
    assert_eq!(judge(&Plate::default(), &Settings::default()).questions, []);
}

proptest! {
    #[test]
    fn any_plate_is_survived(
        printed in prop::collection::btree_map(0..Field::ALL.len(), prop::collection::vec(("[0-9./ TCWABF-]{1,9}", 0.0f64..1.0), 1..4), 0..12),
        association in 0.0f64..1.0,
    ) {
        let mut plate = Plate::default();
        for (at, candidates) in printed {
            let field = Field::ALL[at];
            let candidates: Vec<Candidate> = candidates
                .into_iter()
                .filter_map(|(printed, probability)| Some(Candidate { value: notation::parse(field, &printed)?, printed, probability }))
                .collect();
            if !candidates.is_empty() {
                plate.fields.insert(field, FieldReading { candidates, association, label: None, quad: Quad::default(), doubts: Vec::new(), claims: Vec::new(), open: None, seconded: None });
            }
        }
        let judgement = judge(&plate, &Settings::default());
        for (field, reading) in &judgement.fields {
            prop_assert!((0.0..=1.0).contains(&reading.confidence), "{field} {reading:?}");
            if let (Some(printed), Some(place)) = (&reading.printed, plate.fields.get(field)) {
                prop_assert!(place.candidates.iter().any(|c| c.printed == *printed));
            }
            prop_assert!(reading.state != State::Clear || reading.confidence >= 0.99);
        }
    }

    #[test]
    fn a_likelier_reading_is_never_less_trusted(p in 0.3f64..0.98, more in 0.001f64..0.02) {
        let confidence = |p: f64| judged(&format!("volts=230/460 amps=12.8/6.4:{p}|12.8/8.4:0.005 hp=5 phase=3")).fields[&Field::Amps].confidence;
        prop_assert!(confidence(p + more) >= confidence(p));
    }
}
