//! The measures of a system: what cannot be beside each other, and what does not fit together.

use axum::http::StatusCode;

use crate::register::{bench, but, coordinator, north_2, reservoir, tubing, with_version};

#[tokio::test]
async fn measures_that_cannot_be_beside_each_other_are_refused_at_the_field() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let benches = format!("{system}/benches");
    for (field, value, at, message) in [
        (
            "overflow",
            "210",
            "overflow",
            "210 mm is not below the wall, 200 mm",
        ),
        ("overflow", "200", "overflow", "is not below the wall"),
        (
            "floor_fall",
            "200",
            "floor_fall",
            "comes out over a wall of 200 mm",
        ),
        (
            "media_depth",
            "210",
            "media_depth",
            "Media 210 mm deep stand over a wall of 200 mm",
        ),
        (
            "length",
            "1200",
            "length",
            "write the unit if it is another one",
        ),
        (
            "length",
            "60",
            "length",
            "Length: this reads as 60 m. It must lie from 100 mm to 50 m",
        ),
        (
            "length",
            "1,200",
            "length",
            "can be read as 1200 or as 1.200",
        ),
        ("width", "", "width", "Width: enter a number."),
        ("wall", "two hundred", "wall", "is not a number"),
        ("media", "moss", "media", "Choose what fills the bench"),
        (
            "media",
            "other",
            "drainable",
            "There are no usual ones for other media",
        ),
        (
            "media",
            "none",
            "media_depth",
            "A depth is given, but no media",
        ),
        (
            "drainable",
            "42",
            "retained",
            "give both figures, or neither",
        ),
    ] {
        let answer = ines
            .post(&benches, &but(bench("Bench 3", "1.60"), field, value))
            .await;
        answer
            .refused(at, message)
            .says(&["<title>Error: ", "value=\"Bench 3\""]);
        if !value.is_empty() && field != "media" {
            answer.says(&[&format!("value=\"{value}\"")]);
        }
    }
    let both = but(
        but(bench("Bench 3", "1.60"), "drainable", "60"),
        "retained",
        "40",
    );
    ines.post(&benches, &both)
        .await
        .refused("drainable", "leaves no room for the media");
    // All complaints at once: a height is held against the wall while another field is empty.
    let two = but(
        but(bench("Bench 3", "1.60"), "width", ""),
        "overflow",
        "210",
    );
    ines.post(&benches, &two)
        .await
        .refused("overflow", "210 mm is not below the wall, 200 mm")
        .says(&["Two things to put right", "Width: enter a number."]);
    // A faulty measure has a heavy ring in the picture.
    let answer = ines
        .post(&benches, &but(bench("Bench 3", "1.60"), "overflow", "210"))
        .await;
    assert_eq!(answer.text.matches("dr-ring wrong").count(), 1);

    for (field, value, at, message) in [
        (
            "pump_need",
            "230",
            "pump_need",
            "The heel and the water over it are 248 L together, more than the 240 L",
        ),
        ("capacity", "400", "capacity", "they make 249.6 L"),
        ("width", "", "width", "level marks need both"),
        (
            "heel_known",
            "",
            "heel_known",
            "Choose how the heel is known",
        ),
    ] {
        ines.post(
            "/reservoirs/1",
            &but(with_version(reservoir(), "1"), field, value),
        )
        .await
        .refused(at, message);
    }
    for (field, value, at, message) in [
        ("rise", "5", "rise", "cannot rise by 5"),
        ("bore", "1", "bore", "It must lie from 2 mm to 300 mm"),
        ("purpose", "", "purpose", "Choose what it is for"),
    ] {
        ines.post(&format!("{system}/tubing"), &but(tubing(), field, value))
            .await
            .refused(at, message);
    }
    let jug = |mark| [("name", "Green jug"), ("capacity", "2.5"), ("mark", mark)];
    ines.post("/jugs", &jug("3"))
        .await
        .refused("mark", "The marks are 3 L apart in a jug of only 2.5");
    ines.post("/jugs", &jug("50 mL")).await.sent_on();
    ines.post("/jugs", &jug("50 mL"))
        .await
        .refused("name", "a jug called Green jug");
    ines.get("/jugs")
        .await
        .shows(&["Green jug", "2.5", "50 mL"]);
    ines.post("/systems", &[("room", "1"), ("name", "North 2")])
        .await
        .refused("name", "There is or was a system called North 2");
    ines.post("/systems", &[("room", "9"), ("name", "North 3")])
        .await
        .refused("room", "Choose the room");
    ines.post("/rooms", &[("name", "North bay")])
        .await
        .refused("name", "a room called North bay");
    let answer = ines
        .post(&format!("{system}/reservoirs"), &reservoir())
        .await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_wall_too_low_for_a_clean_out_is_said_by_the_benchs_own_name() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let low = with_version(but(bench("Bench 2", "1.60"), "wall", "130"), "1");
    ines.post("/benches/2", &but(low, "name", "South tray"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "South tray would have to be flooded to 120 mm to wet all its media",
        "leaves 10 mm instead of 15 mm",
    ]);
    ines.get("/systems").await.shows(&["not known"]);
}

/// By hand: all of 25 L/min (1500 L/h) over an open overflow of 32 mm bore need 38 mm of head by the
/// orifice formula, so water stands at 90 + 38 = 128 mm, and at 120 + 38 = 158 mm with the riser on.
/// Half clogged it is as if 50 L/min came: four times the head, 152 mm, and 272 mm of water over a wall
/// of 200 mm. Through 19.05 mm the head is (32 / 19.05)^4 = 7.96 times as much, 303 mm.
/// The overflow itself holds pi/4 x 19.05 mm x 19.05 mm x 0.9 m = 0.257 L: 176.723 + 0.257 - 170 = 6.98 L run over.
/// Lift: floor at 1240 mm and water to 120 mm over it, less what the reservoir of 0.48 m2 still holds:
/// (177.447 - 94.416) L make 173 mm, so 1187 mm.
#[tokio::test]
async fn what_does_not_fit_is_said_with_its_figures() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    ines.get(&system)
        .await
        .shows(&[
            "cannot be told yet",
            "href=\"/benches/1/change#overflow_bore\"",
            "href=\"/systems/1/pumps/new\"",
        ])
        .does_not_say(&["A bench can run over"]);
    let pump = |head| {
        vec![
            ("name", "Pump"),
            ("kind", "submersible"),
            ("max_flow", "1500"),
            ("max_head", head),
        ]
    };
    let overflow = |bore| {
        vec![
            ("name", "Overflow"),
            ("purpose", "overflow"),
            ("bore", bore),
            ("length", "0.9"),
        ]
    };
    ines.post(&format!("{system}/pumps"), &pump("2.4"))
        .await
        .sent_on();
    ines.post(&format!("{system}/tubing"), &overflow("32"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "A bench can run over",
        "at 242 mm as it grows and at 272 mm with the riser on; the wall is 200 mm. It runs over the wall.",
        "Never leave this pump running unattended.",
        "The overflow keeps half of its capacity",
    ]);
    // Open pipes that nothing can clog keep all of it.
    for (id, name, length) in [(1, "Bench 1", "1.20"), (2, "Bench 2", "1.60")] {
        let open = but(bench(name, length), "overflow_keeps", "100");
        ines.post(&format!("/benches/{id}"), &with_version(open, "1"))
            .await
            .sent_on();
    }
    ines.get(&system)
        .await
        .shows(&[
            "at 128 mm as it grows and at 158 mm with the riser on; the wall is 200 mm. It does not run over.",
            "the pump lifts 1 187 mm of at most 2.4 m and brings between",
            "Time to flood",
        ])
        .does_not_say(&["A bench can run over", "class=\"late\""]);

    ines.post("/tubing/2", &with_version(overflow("19.05"), "1"))
        .await
        .sent_on();
    ines.post("/pumps/1", &with_version(pump("1.1"), "1"))
        .await
        .sent_on();
    let short = but(bench("Bench 1", "1.20"), "overflow_keeps", "100");
    let short = with_version(but(short, "riser", "20"), "2");
    ines.post("/benches/1", &short).await.sent_on();
    let long = with_version(but(bench("Bench 2", "1.60"), "riser", "45"), "2");
    ines.post("/benches/2", &long).await.sent_on();
    let small = but(but(reservoir(), "capacity", "170"), "pump_need", "62");
    ines.post("/reservoirs/1", &with_version(small, "1"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "at 393 mm as it grows and at 423 mm with the riser on",
        "and the pump lifts at most 1.1 m. The water does not get there.",
        "The one that is kept, 20 mm, is too short: media would stay dry",
        "The one that is kept, 45 mm, is longer: cut it",
        "a reservoir that takes only 170 L: 6.98 L run over",
    ]);
}
