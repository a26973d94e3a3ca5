//! What speaks against a value where it stands: figures or letters beside it that belong to nothing else, a label that is
//! only nearly one, room for what is worn away.

use super::assign::Match;
use super::fields::{CLOSE, UNUSUAL, supported};
use super::labels::{EXACT, Item, Kind, Label};
use super::layout::{BLANK, Head, LISTED, Layout, Relation, announces};
use super::lexicon::Target;
use super::reading::ANOTHERS;
use super::sheet::{Place, Span};
use super::values;
use crate::record::{Field, Value};
use std::collections::HashSet;
use std::ops::Range;

/// Why the value of a match may not be the label's, or not whole.
pub(super) fn of(
    layout: &Layout<'_>,
    m: &Match,
    matches: &[Match],
    used: &HashSet<usize>,
) -> Vec<String> {
    let head = &layout.heads[m.edge.head];
    let mut doubts = of_one(layout, m, head, used);
    let rest = [
        (
            goes_on(layout, m, used),
            "more figures stand right behind it",
        ),
        (
            goes_on_below(layout, m, used),
            "more figures stand right below it",
        ),
        (
            goes_on_above(layout, m, used),
            "more figures stand beside it in its cell",
        ),
        (
            rates(m.edge.target) && is_listed_before(layout, m, used),
            "more figures stand right before it",
        ),
        (
            stands_between(layout, head, m, used),
            "its label stands between two such values",
        ),
        (
            in_passing(layout, head, m),
            "it stands in a note or is a limit, and may be one of several",
        ),
        (is_nearly_air_over(layout, m, used), AIR_OVER),
        (
            touches_idle(layout, m, matches),
            "what stands right beside it may be a part of it",
        ),
        (
            another_in_line(layout, m, used),
            "another such value stands in line with it",
        ),
        (
            stands_off(layout, m, matches),
            "there is room for more between its label and it",
        ),
        (
            begins_before(layout, m, used),
            "something stands right before it",
        ),
        (
            is_power_in_no_unit(layout, head, m),
            "the plate says power and not whether in kilowatts or horsepower",
        ),
        (
            is_of_another_column(layout, m, matches),
            "the values of the labels above and below its label all stand nearer",
        ),
    ];
    let found = rest.into_iter().filter(|(found, _)| *found);
    doubts.extend(found.map(|(_, doubt)| doubt.to_owned()));
    doubts
}

/// The doubts that a match raises by itself.
fn of_one(layout: &Layout<'_>, m: &Match, head: &Head<'_>, used: &HashSet<usize>) -> Vec<String> {
    /// Up to this gap, in heights of text, a separator and a label are one word.
    const TOUCHING: f32 = 0.3;
    let mut doubts = Vec::new();
    if supported(head, m, true) < 0.97 {
        doubts.push(format!(
            "its label was read as {:?}, which is only nearly a label",
            head.label.text
        ));
    }
    if m.edge.fit.usual <= UNUSUAL {
        doubts.push(format!(
            "{:?} is hardly ever printed for this",
            m.edge.fit.reads[0].printed
        ));
    }
    if m.probability < 0.9 {
        doubts.push(ANOTHERS.to_owned());
    }
    if values::is_free(m.edge.target) && m.edge.fit.reads[0].raw.ends_with(['-', '/']) {
        doubts.push("it ends in a separator and may go on elsewhere".to_owned());
    }
    // Close behind its label the separator is the label's: `SN-66120418`.
    let own = head.row == layout.pieces[m.edge.pieces[0]].row
        && layout.pieces[m.edge.pieces[0]].item.gap < TOUCHING;
    let open = m.edge.fit.reads[0].raw.starts_with(['-', '/']);
    if values::is_makers_number(m.edge.target) && open && !own {
        doubts.push("it begins with a separator and something may stand before it".to_owned());
    }
    if values::is_free(m.edge.target) && runs_on(layout, m, head) {
        doubts.push("nothing parts it from its label".to_owned());
    }
    let last = m
        .edge
        .pieces
        .last()
        .map(|&p| layout.pieces[p].item.text.as_str());
    let whole = matches!(
        m.edge.target,
        Target::Field(Field::Phase | Field::Hertz | Field::Rpm | Field::Volts)
    );
    let cut = last.is_some_and(|t| {
        t.ends_with(['/', '-'])
            || !whole && t.ends_with('.') && t.contains(|c: char| c.is_ascii_digit())
    });
    // `1100 / 3 SPD`
    let of_speeds = |label: &Label| label.targets == [Target::Mark("speeds")];
    let counted = m.edge.pieces.last().is_some_and(|&last| {
        let next = layout.after(last);
        // `3 / 60` below `PH / HZ`.
        next.is_some_and(|next| layout.counts_speeds(next) || whole && used.contains(&next))
            || layout.label_after(last).is_some_and(of_speeds)
    });
    if cut
        && !counted
        && !values::is_free(m.edge.target)
        && matches!(
            &m.edge.fit.reads[0].value,
            Value::Number(_) | Value::Numbers(_)
        )
    {
        doubts.push("the value ends in a separator and may be cut off".to_owned());
    }
    doubts
}

/// Whether figures follow closely that belong to no label: the value may be a part, `75` of `75 5%`, or `1120 447` of
/// `1120 447 / 16`.
fn goes_on(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let number = !m.edge.fit.reads[0].value.numbers().is_empty();
    let next = m.edge.pieces.last().and_then(|&last| layout.after(last));
    let else_said =
        |next: usize| layout.counts_speeds(next) || layout.has_unit_of_another(next, m.edge.target);
    let ruled_off = |next: usize| {
        let last = m.edge.pieces.last();
        last.is_some_and(|&last| layout.ruled_off(last, next))
    };
    let loose = next.filter(|&next| !used.contains(&next) && !else_said(next) && !ruled_off(next));
    loose.is_some_and(|next| {
        let item = layout.pieces[next].item;
        let figures = item
            .text
            .starts_with(|c: char| c.is_ascii_digit() || c == '.');
        let free = values::is_free(m.edge.target);
        let stroke = free && item.text.starts_with(['/', '-'])
            || number && rates(m.edge.target) && item.text.trim() == "/" && {
                let beyond = layout.after(next);
                beyond.is_some_and(|beyond| !used.contains(&beyond))
            };
        // `PD 100` of `PD 100 L4`
        let code = free && item.gap < BLANK && item.text.contains(|c: char| c.is_ascii_digit());
        (number && figures || stroke) && item.gap < CLOSE || code
    }) || is_each(m.edge.target) && m.edge.relation == Relation::Right && is_listed(layout, m, used)
        || goes_on_in_cell(layout, m, used)
        || goes_on_past_sign(layout, m)
}

/// Whether figures follow a rating and only a lone sign stands between that is no unit of it and has no value there: of `10Φ2` A
/// the sign may be a stamped decimal point.
fn goes_on_past_sign(layout: &Layout<'_>, m: &Match) -> bool {
    /// Characters of one number stand no farther apart, in heights of text, even where the detector has cut it in two.
    const TIGHT: f32 = 0.25;
    let Some(last) = m.edge.pieces.last().map(|&p| &layout.pieces[p]) else {
        return false;
    };
    let row = &layout.rows[last.row];
    let (Some(sign), Some(rest)) = (row.get(last.at + 1), row.get(last.at + 2)) else {
        return false;
    };
    let other = |label: &Label| {
        let mut targets = label.targets.iter();
        !targets.any(|&t| t == m.edge.target || values::is_usual(t, &rest.text))
    };
    rates(m.edge.target)
        && sign.gap < TIGHT
        && rest.gap < TIGHT
        && sign.text.chars().count() == 1
        && match &sign.kind {
            Kind::Label(label) => other(label),
            Kind::Value(_) => !sign
                .text
                .contains(|c: char| c.is_ascii_alphanumeric() || "/-&".contains(c)),
        }
        && rest.text.starts_with(|c: char| c.is_ascii_digit())
}

/// Whether another value of the kind stands farther right in the cell below or above a label and belongs to no other: `200` and
/// `230/460` below `V`.
fn goes_on_in_cell(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let below = matches!(m.edge.relation, Relation::Below | Relation::Above) && !m.edge.several;
    let Some(&last) = m
        .edge
        .pieces
        .last()
        .filter(|_| below && rates(m.edge.target))
    else {
        return false;
    };
    let head = &layout.heads[m.edge.head];
    let next = layout.after(last).filter(|next| !used.contains(next));
    next.is_some_and(|next| {
        let item = layout.pieces[next].item;
        // The next label of the row begins another cell.
        let mut labels = layout.rows[head.row][head.at + 1..].iter();
        let own = labels
            .next()
            .is_none_or(|label| item.place.right < label.place.left);
        own && item.gap < LISTED && values::is_usual(m.edge.target, &item.text)
    })
}

/// Whether a plate with several speeds or supplies may give one of these for each.
fn is_each(target: Target) -> bool {
    rates(target) || target == Target::Field(Field::KvaCode)
}

/// Whether a plate with several ratings gives several values of this.
fn rates(target: Target) -> bool {
    use Field::*;
    matches!(target, Target::Field(Volts | Amps | Hp | Kw | Rpm | Hertz))
}

/// Whether such a value of the same kind that belongs to no label stands in another column: of `1390 1560` rpm one was
/// not taken.
fn is_listed(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    const COLUMNS: usize = 4;
    let Some(last) = m.edge.pieces.last().map(|&p| &layout.pieces[p]) else {
        return false;
    };
    let row = &layout.rows[last.row];
    // A word that announces nothing parts no list: `1/6 (HI) 1/10 (LO)`.
    let goes_on = |at: &usize| row[*at].gap < LISTED && !announces(&row[*at]);
    let near = (last.at + 1..row.len()).take_while(goes_on);
    let near = near
        .filter_map(|at| layout.piece_at(last.row, at))
        .take(COLUMNS);
    near.filter(|p| !used.contains(p) && !is_said_already(layout, *p, used))
        .any(|p| {
            let text = &layout.pieces[p].item.text;
            // A code is one letter for each speed; a longer word is none, though the form of a code takes it.
            let alike = text.len() == 1 || m.edge.target != Target::Field(Field::KvaCode);
            alike && may_be(layout, p, m.edge.target)
        })
}

/// Whether a piece repeats one of its row that belongs to a label, as the second column of `7.5 (5.6)  7.5 (5.6)` does.
fn is_said_already(layout: &Layout<'_>, piece: usize, used: &HashSet<usize>) -> bool {
    let figures = |p: usize| layout.pieces[p].item.text.trim_matches(['(', ')']);
    let row = layout.pieces[piece].row;
    let mut known = used.iter().filter(|&&p| layout.pieces[p].row == row);
    known.any(|&p| figures(p) == figures(piece))
}

/// Whether a piece is a usual value of a target, and no unit behind it says that it is something else.
fn may_be(layout: &Layout<'_>, piece: usize, target: Target) -> bool {
    values::is_usual(target, &layout.pieces[piece].item.text)
        && !layout.has_unit_of_another(piece, target)
        && !layout.has_unknown_unit(piece)
}

/// The same before a value with its unit behind it: of `ALTA 1725 / BAJA 1140 r/min` the first was not taken.
fn is_listed_before(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let unit = matches!(m.edge.relation, Relation::Left | Relation::Within);
    let first = &layout.pieces[m.edge.pieces[0]];
    let row = &layout.rows[first.row];
    // Up to the next label with a value of its own, or value of another.
    let free = |at: usize| match &row[at].kind {
        Kind::Label(_) => !announces(&row[at]),
        Kind::Value(_) => layout
            .piece_at(first.row, at)
            .is_some_and(|p| !used.contains(&p)),
    };
    let before = (0..first.at)
        .rev()
        .take_while(|&at| row[at + 1].gap < LISTED && free(at));
    unit && before
        .filter_map(|at| layout.piece_at(first.row, at))
        .any(|p| {
            let item = layout.pieces[p].item;
            !matches!(item.kind, Kind::Value(Some(_))) && may_be(layout, p, m.edge.target)
        })
}

/// Whether a value of the same form that belongs to no label stands level with a rating, however far: of the row of a table a
/// part may not have been taken.
fn another_in_line(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    /// So far from level, in heights of text, values of one row stand.
    const LEVEL: f32 = 0.4;
    let own = layout.fill(&m.edge.pieces);
    let printed = &m.edge.fit.reads[0].raw;
    // As many decimals, strokes and so on; a whole number below a hundred may be anything.
    let form = |text: &str| -> String {
        let (_, decimals) = text.split_once(['.', ',']).unwrap_or((text, ""));
        let count = decimals.chars().take_while(char::is_ascii_digit).count();
        let signs = text.chars().filter(|c| "/-".contains(*c));
        signs.chain(std::iter::repeat_n('.', count)).collect()
    };
    let telling = match m.edge.target {
        Target::Field(Field::Hertz) => true,
        Target::Field(Field::Rpm | Field::Volts) => printed.len() > 2,
        _ => printed.contains(['.', ',', '/']),
    };
    let another = |p: usize| {
        let item = layout.pieces[p].item;
        let level = (item.place.y - own.y).abs() < LEVEL * own.height;
        let like = form(&item.text) == form(printed);
        !used.contains(&p)
            && level
            && !is_said_already(layout, p, used)
            && like
            && item.place.is_in_print_of(&own)
            && item.text.starts_with(|c: char| c.is_ascii_digit())
            && matches!(item.kind, Kind::Value(None))
            && !layout.is_sentence(item.span.line)
            && may_be(layout, p, m.edge.target)
    };
    rates(m.edge.target) && telling && (0..layout.pieces.len()).any(another)
}

/// Whether figures that belong to no label stand right below a rating: another row of it may have been missed.
fn goes_on_below(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let rating = rates(m.edge.target);
    let one_row = !m.edge.several && m.edge.relation == Relation::Below;
    let last = m.edge.pieces.last();
    rating
        && one_row
        && last.is_some_and(|&last| layout.right_below(last).any(|p| !used.contains(&p)))
}

/// Whether the value behind a label is one of two in its cell, the one above and the other below the middle of the label:
/// `13.6` over `6.8`; or the value below a label one of two, with another above.
fn goes_on_above(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    /// So far from the label's middle, in heights of text, the value of a label does not stand alone.
    const ASIDE: f32 = 0.2;
    const ROWS: f32 = 2.5;
    let beside = matches!(m.edge.relation, Relation::Right | Relation::Below);
    let behind = !m.edge.several && beside && rates(m.edge.target);
    let Some(&first) = m.edge.pieces.first().filter(|_| behind) else {
        return false;
    };
    let own = layout.pieces[first].item.place;
    let label = layout.heads[m.edge.head].item.place;
    let aside = (own.y - label.y) / own.height;
    let other = |&p: &usize| {
        let item = layout.pieces[p].item;
        let across = (item.place.y - label.y) / own.height;
        !used.contains(&p)
            && across.signum() != aside.signum()
            && (ASIDE..ROWS).contains(&across.abs())
            && own.column_overlap(&item.place) > 0.7
            && item.place.is_in_print_of(&own)
            && values::is_usual(m.edge.target, &item.text)
    };
    aside.abs() > ASIDE && (0..layout.pieces.len()).any(|p| other(&p))
}

/// Whether a voltage stands in a note on other figures, `SFA SHOWN AT 460 V`, or is a limit, `103 V MIN / 127 V MAX`.
fn in_passing(layout: &Layout<'_>, head: &Head<'_>, m: &Match) -> bool {
    let volts = m.edge.target == Target::Field(Field::Volts);
    let mut before = layout.words_before(m.edge.pieces[0], 1);
    let note = before.any(|word| ["AT", "@"].iter().any(|at| word.eq_ignore_ascii_case(at)));
    let behind = layout.rows[head.row].get(head.at + 1);
    let limit = behind.is_some_and(|item| {
        let word = item.text.trim_end_matches(['.', ',']).to_uppercase();
        item.gap < CLOSE && ["MIN", "MAX"].contains(&word.as_str())
    });
    volts && (note || limit && m.edge.relation == Relation::Left)
}

/// Whether words beside a duty that stands at its label are all but AIR OVER.
fn is_nearly_air_over(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let (Some(&first), Some(&last)) = (m.edge.pieces.first(), m.edge.pieces.last()) else {
        return false;
    };
    let row = layout.pieces[first].row;
    let items = layout.pieces[first].at..layout.pieces[last].at + 1;
    let free = |at: usize| layout.piece_at(row, at).is_some_and(|p| !used.contains(&p));
    m.edge.target == Target::Field(Field::Duty) && nearly_air_over(&layout.rows[row], &items, &free)
}

/// What is doubtful about a duty with such words beside it.
pub(super) const AIR_OVER: &str = "what stands beside it may be AIR OVER";

/// Whether two words beside a duty, some items of a row, are all but AIR OVER, which decides by what a motor is chosen:
/// `ADR SVER CONT DUTY`. Of what is not `free` the words are no part.
pub(super) fn nearly_air_over(
    row: &[Item],
    duty: &Range<usize>,
    free: &dyn Fn(usize) -> bool,
) -> bool {
    /// So many characters may be misread.
    const MISREAD: usize = 2;
    let before = duty.start.checked_sub(2).map(|start| start..duty.start);
    let behind = (duty.end + 2 <= row.len()).then_some(duty.end..duty.end + 2);
    let beside = |mut at: Range<usize>| {
        let items = &row[at.clone()];
        let texts: Vec<&str> = items.iter().map(|item| item.text.as_str()).collect();
        let text = texts.join(" ").to_uppercase();
        at.all(|at| matches!(row[at].kind, Kind::Value(None)) && free(at))
            && strsim::damerau_levenshtein(&text, "AIR OVER") <= MISREAD
    };
    before.into_iter().chain(behind).any(beside)
}

/// Whether a short label without a value of its own stands right beside a number of the maker's, in one line with it: of
/// `OS 215T-4/10 KG` the last letters may be a part; or a stroke alone parts it from the rest of its word, `100L-4/3HP`.
fn touches_idle(layout: &Layout<'_>, m: &Match, matches: &[Match]) -> bool {
    const LETTERS: usize = 3;
    let taken = |row: usize, at: usize| {
        let mut heads = matches.iter().map(|m| &layout.heads[m.edge.head]);
        heads.any(|head| (head.row, head.at) == (row, at))
    };
    let idle = |row: usize, at: Option<usize>, beside: usize| {
        let items = &layout.rows[row];
        let pair = at.and_then(|at| Some((at, items.get(at)?)));
        pair.is_some_and(|(at, item)| {
            let gap = items[at.max(beside)].gap;
            matches!(item.kind, Kind::Label(_))
                && item.span.line == items[beside].span.line
                && gap < BLANK
                && item.text.len() <= LETTERS
                && !taken(row, at)
        })
    };
    let ends = (m.edge.pieces.first(), m.edge.pieces.last());
    let (Some(&first), Some(&last)) = ends else {
        return false;
    };
    let (first, last) = (&layout.pieces[first], &layout.pieces[last]);
    // `100L-4/3HP`: parted by a stroke within the word alone.
    let next = layout.rows[last.row].get(last.at + 1);
    let in_word = next.is_some_and(|next| {
        let (end, from) = (last.item.span.to, next.span.from);
        next.span.line == last.item.span.line && from <= end + 1 && {
            let between = Span {
                from: end,
                to: from.max(end),
                ..next.span
            };
            ["/", "-"].contains(&layout.sheet.text(between).as_str())
        }
    });
    values::is_free(m.edge.target)
        && (in_word
            || idle(first.row, first.at.checked_sub(1), first.at)
            || idle(last.row, Some(last.at + 1), last.at))
}

/// Whether a value stands far behind its label on a plate whose other values all follow theirs closely: its first figures
/// may be worn away, of `54F-90113` the first four.
fn stands_off(layout: &Layout<'_>, m: &Match, matches: &[Match]) -> bool {
    /// In heights of text.
    const CLOSELY: f32 = 1.0;
    const FARTHER: f32 = 1.5;
    /// Fewer labels with their values behind them do not show how a plate is printed.
    const LABELS: usize = 5;
    let room = |m: &Match| {
        let (head, first) = (&layout.heads[m.edge.head], &layout.pieces[m.edge.pieces[0]]);
        let leader = first.item.text.starts_with('.');
        let behind = m.edge.relation == Relation::Right && first.row == head.row && !leader;
        behind.then_some(first.item.gap)
    };
    let number = values::is_free(m.edge.target) && !m.edge.several;
    let Some(own) = room(m).filter(|_| number) else {
        return false;
    };
    let others = matches
        .iter()
        .filter(|other| other.edge.head != m.edge.head);
    let mut rooms: Vec<f32> = others.filter_map(room).collect();
    rooms.sort_by(f32::total_cmp);
    let (usual, widest) = match rooms.len() {
        n if n >= LABELS => (rooms[n / 2], rooms[n - 1]),
        _ => return false,
    };
    usual < CLOSELY && own > widest + FARTHER
}

/// Whether a power stands beside a label that names no unit, and none behind it does: of HORSEPOWER the first part may be worn
/// away.
fn is_power_in_no_unit(layout: &Layout<'_>, head: &Head<'_>, m: &Match) -> bool {
    let power = m.edge.target == Target::Field(Field::Kw);
    let label: String = super::lexicon::key(&head.label.text).into_iter().collect();
    let kilowatts = |label: &Label| {
        let power = [Target::Field(Field::Kw), Target::Watts];
        label.targets.iter().any(|t| power.contains(t))
    };
    let unit = |&last: &usize| layout.label_after(last).is_some_and(kilowatts);
    power && label.ends_with("OWER") && !m.edge.pieces.last().is_some_and(unit)
}

/// Whether a value stands far behind its label where the values of the other labels of the column all end before it begins: its own
/// may be worn away, and this one be of another column.
fn is_of_another_column(layout: &Layout<'_>, m: &Match, matches: &[Match]) -> bool {
    /// Fewer labels with their values behind them make no column.
    const LABELS: usize = 3;
    /// So far behind, in heights of text, another column may begin, and so far apart its labels may begin.
    const FAR: f32 = 3.0;
    const APART: f32 = 1.5;
    let place = |m: &Match| {
        let head = layout.heads[m.edge.head].item.place;
        let right = m.edge.relation == Relation::Right && !m.edge.several;
        right.then(|| (head, layout.fill(&m.edge.pieces)))
    };
    let Some((head, value)) = place(m) else {
        return false;
    };
    let others: Vec<_> = matches
        .iter()
        .filter(|other| other.edge.head != m.edge.head)
        .filter_map(place)
        .filter(|(other, _)| (other.left - head.left).abs() < APART * head.height)
        .collect();
    let nearer = |of: &Place| of.right + FAR * head.height < value.left;
    value.left - head.right > FAR * head.height
        && others.len() >= LABELS
        && others.iter().all(|(_, other)| nearer(other))
}

/// Whether a letter or two that belong to no label stand right before a frame: they may be a part of it.
fn begins_before(layout: &Layout<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let frame = m.edge.target == Target::Field(Field::Frame);
    let before = m
        .edge
        .pieces
        .first()
        .and_then(|&first| layout.before(first));
    let loose = before.filter(|before| !used.contains(before));
    loose.is_some_and(|before| {
        let text = &layout.pieces[before].item.text;
        frame && text.len() <= 2 && text.chars().all(|c| c.is_ascii_uppercase())
    })
}

/// Whether a figure that could as well be a label's value stands before it and belongs to no other: of `4,0 kW 5,5` either
/// may be the power.
fn stands_between(layout: &Layout<'_>, head: &Head<'_>, m: &Match, used: &HashSet<usize>) -> bool {
    let before = head.at.checked_sub(1);
    let before = before.and_then(|at| layout.piece_at(head.row, at));
    let right = m.edge.relation == Relation::Right && head.label.unit;
    let figure = |&piece: &usize| {
        let item = layout.pieces[piece].item;
        let text = &item.text;
        !used.contains(&piece)
            && !layout.sheet.ruled_off(&item.place, &head.item.place)
            && text.starts_with(|c: char| c.is_ascii_digit())
            && values::is_usual(m.edge.target, text)
    };
    right && rates(m.edge.target) && head.item.gap < LISTED && before.as_ref().is_some_and(figure)
}

/// Whether letters follow a label without a gap: of `MODEK5-2206A` the E may be the label's.
fn runs_on(layout: &Layout<'_>, m: &Match, head: &Head<'_>) -> bool {
    /// Shorter labels are abbreviations, of which there are longer ones.
    const WRITTEN_OUT: usize = 5;
    let (label, value) = (head.item, layout.pieces[m.edge.pieces[0]].item);
    // A label written out and read as it is spelled ends where it ends: `MODELDM2S-50`.
    let whole = head.label.certainty >= EXACT && label.text.len() >= WRITTEN_OUT;
    let letter = value.text.starts_with(char::is_alphabetic) && !whole;
    // `SER. NO925` may be `N0925`; behind `SER. NO0925` the O has been read.
    let zero = label.text.to_uppercase().ends_with("NO")
        && value.text.starts_with(|c: char| ('1'..='9').contains(&c));
    head.within.is_none()
        && (letter || zero)
        && label.span.line == value.span.line
        && label.span.to == value.span.from
}
