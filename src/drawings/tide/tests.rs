use chrono::{NaiveDate, NaiveDateTime};

use super::*;
use crate::drawings::samples;

fn day(d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 3, d).unwrap()
}

fn at(d: u32, h: u32) -> NaiveDateTime {
    day(d).and_hms_opt(h, 0, 0).unwrap()
}

/// The first three weeks of March, on the 4th at 10:00.
fn days() -> Days {
    Days::from_week_of(day(4), 3, Some(at(4, 10)))
}

fn sample(name: &str) -> Row {
    samples::rows()
        .into_iter()
        .find(|row| row.name == name)
        .unwrap()
}

fn full(row: &Row) -> String {
    let rows = std::slice::from_ref(row);
    Line {
        days: days(),
        form: Form::Full,
        rows,
        stock: &[],
    }
    .to_string()
    .replace('\u{a0}', " ")
}

fn has(html: &str, pieces: &[&str]) {
    for piece in pieces {
        assert!(html.contains(piece), "no {piece} in {html}");
    }
}

#[test]
fn a_stake_stands_at_its_start_and_its_foot_is_its_length() {
    // Thursday 4 at 08:00 is 3.333 of 21 days; six hours are 0.25 of them.
    let html = full(&sample("North 2"));
    has(
        &html,
        &[
            "<a class=\"stake\" href=\"/cleanouts/27-0042\"><title>Clean-out 27-0042, under way, \
             Thu 4 March 08:00 to 14:00</title><svg x=\"15.87%\"",
            "class=\"foot\" x=\"-1\" y=\"55\" width=\"1.19%\"",
            "<use href=\"#tm-underway\" y=\"22\"/>",
            "x=\"6\" y=\"48\" text-anchor=\"start\">42</text>",
        ],
    );
}

#[test]
fn the_present_crosses_every_row() {
    let rows = samples::rows();
    let line = Line {
        days: days(),
        form: Form::Full,
        rows: &rows,
        stock: &[],
    }
    .to_string();
    // Thursday 4 at 10:00 is 3.4167 of 21 days.
    let now = "<line class=\"now\" x1=\"16.27%\" x2=\"16.27%\" y1=\"0\" y2=\"60\"/>";
    assert_eq!(line.matches(now).count(), rows.len());
}

#[test]
fn late_is_worked_out_and_said_in_shape_and_words() {
    let mut row = sample("South 2");
    let html = full(&row);
    has(
        &html,
        &[
            "class=\"stake proposed is-late\"",
            "Thu 11 March 08:00 to 15:00, late by 1 d 7 h</title>",
            // From the planting on Wednesday 10 at 08:00, 31 hours long.
            "<svg class=\"is-late\" x=\"44.44%\" y=\"46\" width=\"6.15%\" height=\"14\"",
            ">44 late</text>",
            "<dd class=\"late\">27-0044, Thu 11</dd>",
        ],
    );
    // The crop after it is written clear of the topmark.
    has(
        &html,
        &[
            "<svg x=\"52.57%\" width=\"47.43%\" height=\"60\" aria-hidden=\"true\"><text class=\"crop",
        ],
    );

    row.stakes[0].standing = Standing::CalledOff;
    assert!(
        !full(&row).contains("late"),
        "a clean-out that was called off is not late"
    );
    row.stakes[0].standing = Standing::Booked;
    row.stakes[0].planting = Some(row.stakes[0].end);
    assert!(
        !full(&row).contains("late"),
        "a clean-out that ends at the planting is in time"
    );
}

#[test]
fn numbers_run_where_there_is_low_water_for_them() {
    // The flood comes soon after the stake of North 3: its number stands at the left.
    has(
        &full(&sample("North 3")),
        &["x=\"-6\" y=\"48\" text-anchor=\"end\">43</text>"],
    );
    // Two stakes half a day apart: two heights, away from each other.
    has(
        &full(&sample("South 3")),
        &[
            "x=\"-6\" y=\"40.8\" text-anchor=\"end\">46</text>",
            "x=\"6\" y=\"55.2\" text-anchor=\"start\">47</text>",
        ],
    );
}

#[test]
fn a_crop_is_named_right_of_the_present_where_it_fits() {
    has(
        &full(&sample("North 3")),
        &["<svg x=\"16.27%\" width=\"28.97%\" height=\"60\""],
    );
    let mut row = sample("South 1");
    row.growing[0].crop = "A crop with a name that is much too long for three weeks on any phone, \
        and for a desk as well, as long as the letters keep their size"
        .into();
    assert!(
        !full(&row).contains("class=\"crop"),
        "a name that does not fit is left out"
    );
    row.growing[0].crop = "A name for a desk, not for a phone, in two weeks".into();
    has(&full(&row), &["class=\"crop in-water halo roomy\""]);
}

#[test]
fn no_end_date_breaks_the_line_after_the_present() {
    let html = full(&sample("South 1"));
    has(
        &html,
        &[
            "class=\"open\" d=\"M341.67 9.6H2200\"",
            "class=\"curve\" d=\"M0 9.6H341.67\"",
        ],
    );
    has(
        &html,
        &[
            "<dt>off</dt><dd>no end</dd>",
            "<dt>clean-out</dt><dd>none</dd>",
        ],
    );
}

#[test]
fn a_moved_turnover_leaves_its_old_ebb() {
    let herbs = full(&sample("Herbs"));
    has(
        &herbs,
        &["class=\"ghost\" d=\"M958.33 9.6H958.33C989.33 9.6 989.33 56.5 1020.33 56.5H1158.33\""],
    );
    has(
        &herbs,
        &["off Fri 12 March 14:00, moved from Wed 10 March 14:00"],
    );
    // Moved to an earlier day, the dots come over the gap.
    let mut row = sample("Herbs");
    row.growing[0] = Growing::new("Parsley").off(at(10, 0)).moved_from(at(12, 0));
    has(
        &full(&row),
        &["class=\"ghost\" d=\"M900 9.6H1100C1131 9.6 1131 56.5 1162 56.5H1162\""],
    );
}

#[test]
fn the_bed_tells_quarantine_and_laying_up() {
    // From Thursday 4 at 20:00 to the end of the axis.
    let foul = full(&sample("Propagation"));
    has(
        &foul,
        &["<svg class=\"is-late\" x=\"18.25%\" y=\"45\" width=\"81.75%\" height=\"10\""],
    );
    has(
        &foul,
        &[
            ">root rot found 3 March</text>",
            "quarantined from Thu 4 March 20:00, root rot",
        ],
    );
    // A reason that is known while the water still falls stands where it has fallen.
    let falling = Row {
        bed: Bed::Foul {
            from: at(3, 9),
            until: None,
            reason: "root rot".to_owned(),
        },
        ..sample("Propagation")
    };
    assert_eq!(falling.growing[0].off, Some(at(3, 9)));
    // 2 days and 9 hours, and 0.62 of a day for the ebb, of 21 days.
    has(&full(&falling), &["<svg x=\"14.26%\" overflow"]);
    let dry = full(&sample("Old bench"));
    has(
        &dry,
        &[
            "class=\"dry\" d=\"M8 56H2200\"",
            "laid up from Mon 1 February",
        ],
    );
    assert!(!dry.contains("class=\"curve\"") && !dry.contains("class=\"fill\""));
}

#[test]
fn the_columns_say_the_gap_of_the_next_clean_out() {
    has(
        &full(&sample("North 1")),
        &[
            "<dt>off</dt><dd>Tue 2</dd>",
            "<dt>clean-out</dt><dd>27-0041, Wed 3</dd>",
            "<dt>on</dt><dd>Fri 5</dd>",
        ],
    );
    // Off the axis a date has its month.
    has(&full(&sample("Class 4")), &["<dt>off</dt><dd>26 Feb</dd>"]);
    // For a late clean-out the gap ends at the planting it was made for.
    has(
        &full(&sample("South 2")),
        &["<dt>off</dt><dd>Mon 8</dd>", "<dt>on</dt><dd>Wed 10</dd>"],
    );
    // One that was called off does not count, one that is to come does.
    has(
        &full(&sample("South 3")),
        &["<dd>27-0046, Tue 16</dd>", "<dd>Thu 18</dd>"],
    );
}

#[test]
fn a_row_is_one_sentence_for_those_who_hear_it() {
    has(
        &full(&sample("North 2")),
        &[
            "aria-label=\"North 2, in clean-out: Pak choi off Tue 2 March 14:00; Pak choi on Sat 6 \
           March 09:00 off Tue 20 April 09:00; clean-out 27-0042, under way, Thu 4 March 08:00 to \
           14:00\"",
        ],
    );
}

#[test]
fn stock_breaks_where_it_does_not_suffice() {
    let fall = |d, left_l| StockFall {
        at: at(d, 0),
        left_l,
    };
    let row = StockRow {
        name: "35 % w/w peroxide".into(),
        href: "/stock/1".into(),
        state: String::new(),
        on_hand: "40 L in store".into(),
        start_l: 40.0,
        falls: vec![fall(8, 10.0), fall(15, -5.5)],
        note: String::new(),
    };
    let stock = [row];
    let html = Line {
        days: days(),
        form: Form::Full,
        rows: &[],
        stock: &stock,
    }
    .to_string();
    // 40 L stand 64 px over the bed at 80; 10 L a quarter of that.
    has(&html, &["class=\"curve\" d=\"M0 16H700V64H1400V80H1400\""]);
    has(
        &html,
        &[
            "class=\"short\"",
            ">5.5\u{a0}L</text>",
            "5.5 L short on Mon 15 March",
        ],
    );
}

#[test]
fn the_level_of_a_tank_rises_to_the_brim_and_falls_with_a_draw() {
    let html = Tank {
        days: days(),
        name: "Purified water".into(),
        href: "/water".into(),
        state: "at its lowest 250 L, Mon 8".into(),
        on_hand: "500 L now".into(),
        full_l: 1000.0,
        full: "1,000 L".into(),
        levels: vec![
            (at(4, 0), 500.0),
            (at(8, 0), 1000.0),
            (at(8, 0), 250.0),
            (at(15, 0), 1000.0),
        ],
    }
    .to_string();
    // Full stands 62 px over the bed at 80.
    has(
        &html,
        &["class=\"curve\" d=\"M300 49L700 18L700 64.5L1400 18H2100\""],
    );
    has(
        &html,
        &[
            "aria-label=\"Purified water: 500 L now, at its lowest 250 L, Mon 8\"",
            ">full 1,000 L</text>",
        ],
    );
}

#[test]
fn the_week_of_a_card_has_the_start_and_no_links() {
    let row = sample("North 2");
    let html = Week {
        day: day(4),
        row: &row,
    }
    .to_string();
    has(
        &html,
        &["<span>Thu 4</span>", ">08:00</text>", "<svg x=\"47.62%\""],
    );
    assert!(!html.contains("<a ") && !html.contains("class=\"now\""));
}
