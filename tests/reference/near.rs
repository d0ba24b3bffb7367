//! Answers that are held at a tolerance of their own, because a row prints fewer digits than its
//! tolerance asks for or states it in words.

use crate::rows::Answer;

/// Whether every number is within a part of what is expected; says which is not.
pub fn within_part(pairs: &[(f64, f64)], part: f64) -> Option<Answer> {
    Some(Answer::Holds(pairs.iter().all(|(got, expected)| {
        let holds = (got - expected).abs() <= part * expected.abs();
        if !holds {
            println!("  {got} against {expected}, allowed part {part}");
        }
        holds
    })))
}

/// Whether a number is within an amount of what is expected; says when it is not.
pub fn within_amount(got: f64, expected: f64, amount: f64) -> Option<Answer> {
    let holds = (got - expected).abs() <= amount;
    if !holds {
        println!("  {got} against {expected}, allowed {amount}");
    }
    Some(Answer::Holds(holds))
}
