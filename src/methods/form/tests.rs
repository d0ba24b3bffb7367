use super::*;
use crate::methods::builtin;

fn built_in() -> Input {
    let mut input = Input::of(&builtin::contents().unwrap(), 1);
    input.why = "label of 2027".to_owned();
    input
}

#[test]
fn what_is_shown_in_the_form_comes_back_as_the_same_method() {
    let contents = builtin::contents().unwrap();
    let (read, why) = built_in().check().unwrap();
    assert_eq!(read, contents);
    assert_eq!(why.as_str(), "label of 2027");
}

#[test]
fn rows_move_and_go_and_come_without_losing_what_was_typed() {
    let mut input = built_in();
    let first = input.step_text[0].clone();
    let second = input.step_text[1].clone();
    input.act = "down:0".to_owned();
    assert!(input.rearranged());
    assert_eq!(
        (&input.step_text[0], &input.step_text[1]),
        (&second, &first)
    );
    input.act = "remove:0".to_owned();
    assert!(input.rearranged());
    assert_eq!(input.step_text[0], first);
    let rows = input.step_rows().len();
    input.act = "add:dose".to_owned();
    assert!(input.rearranged());
    assert_eq!(input.step_rows().len(), rows + 1);
    let new = input
        .step_rows()
        .into_iter()
        .find(|row| row.text.is_empty())
        .unwrap();
    assert_eq!(new.phase, "dose");
    assert_eq!(input.step_phase[new.index + 1], "soak");
    for nonsense in ["up:0", "down:9999", "save", "remove:x", ""] {
        input.act = nonsense.to_owned();
        input.rearranged();
        assert_eq!(input.step_rows().len(), rows + 1);
    }
}

#[test]
fn every_complaint_stands_at_its_field() {
    let mut input = built_in();
    input.target = "3 %".to_owned();
    input.soak = "long".to_owned();
    input.step_text[4] = " ".to_owned();
    input.limit_most[0] = "few".to_owned();
    input.phase_minutes[2] = "0".to_owned();
    input.target_source = "label".to_owned();
    let errors = input.check().unwrap_err();
    for field in [
        "target",
        "soak",
        "step_text_4",
        "limit_most_0",
        "phase_minutes_2",
        "target_reference",
    ] {
        assert_ne!(errors.on(field), "", "{field}");
    }
}
