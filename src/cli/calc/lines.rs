//! One JSON object a line in, one answer a line out.

use std::io::{self, BufRead, Write};

use serde_json::{Map, Value as Json, json};

use crate::calculators::{self, Answer, Found, Given, Inputs, Kind, Range, Refusal};

/// Answers every line that is not empty, in order.
///
/// # Errors
/// Only when a line cannot be read or an answer cannot be written.
pub fn answer_all(input: impl BufRead, out: &mut impl Write) -> io::Result<()> {
    for (place, line) in input.lines().enumerate() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        serde_json::to_writer(&mut *out, &answer_line(&line, place + 1))?;
        // A program may wait for this answer before it sends the next line.
        out.write_all(b"\n")?;
        out.flush()?;
    }
    Ok(())
}

/// The answer to one line.
pub fn answer_line(line: &str, number: usize) -> Json {
    let mut answer = Map::new();
    answer.insert("line".into(), number.into());
    let worked = work(line, &mut answer);
    match worked {
        Ok(found) => {
            let values: Map<String, Json> = found
                .lines
                .iter()
                .map(|line| (line.key.to_owned(), json_of(&line.found)))
                .collect();
            let missing: Map<String, Json> = found
                .lines
                .iter()
                .filter(|line| line.found == Found::None)
                .map(|line| (line.key.to_owned(), line.working.clone().into()))
                .collect();
            answer.insert("answer".into(), values.into());
            add_ranges(&found, &mut answer);
            if !missing.is_empty() {
                answer.insert("why_none".into(), missing.into());
            }
            answer.insert("cautions".into(), found.cautions.into());
        }
        Err(refused) => {
            let refused: Vec<Json> = refused
                .into_iter()
                .map(|Refusal { field, reason }| json!({ "field": field, "reason": reason }))
                .collect();
            answer.insert("refused".into(), refused.into());
        }
    }
    answer.into()
}

/// Between what the numbers lie: under the same keys, in the same units, with what that is made of.
fn add_ranges(found: &Answer, answer: &mut Map<String, Json>) {
    if found.ranges.is_empty() {
        return;
    }
    let of = |value: &dyn Fn(&Range) -> Json| -> Json {
        let pairs = found.ranges.iter();
        let pairs: Map<String, Json> = pairs
            .map(|range| (range.key.to_owned(), value(range)))
            .collect();
        pairs.into()
    };
    answer.insert("lower".into(), of(&|range| range.lower.into()));
    answer.insert("upper".into(), of(&|range| range.upper.into()));
    let parts = |range: &Range| -> Json {
        let parts = range.made_of.iter();
        let parts =
            parts.map(|part| json!({ "what": part.what, "how": part.how, "share": part.share }));
        parts.collect::<Vec<Json>>().into()
    };
    answer.insert("made_of".into(), of(&parts));
}

fn json_of(found: &Found) -> Json {
    match found {
        Found::Number(number) => (*number).into(),
        Found::List(numbers) => numbers.clone().into(),
        Found::Words(words) => words.as_str().into(),
        Found::None => Json::Null,
    }
}

/// Works out a line; what names it is noted in the answer on the way.
fn work(line: &str, answer: &mut Map<String, Json>) -> Result<Answer, Vec<Refusal>> {
    let refused = |field: Option<&str>, reason: String| {
        vec![Refusal {
            field: field.map(str::to_owned),
            reason,
        }]
    };
    let given: Map<String, Json> = serde_json::from_str(line)
        .map_err(|error| refused(None, format!("The line is not a JSON object: {error}")))?;
    if let Some(id) = given.get("id") {
        answer.insert("id".into(), id.clone());
    }
    let name = match given.get("calc") {
        Some(Json::String(name)) => name.as_str(),
        _ => {
            return Err(refused(
                Some("calc"),
                "Name the calculator: {\"calc\": \"dose\", ...}".into(),
            ));
        }
    };
    answer.insert("calc".into(), name.into());
    let calculator = calculators::find(name).map_err(|reason| refused(Some("calc"), reason))?;
    let keys: Vec<&str> = given
        .keys()
        .map(String::as_str)
        .filter(|key| !["calc", "id"].contains(key))
        .collect();
    let inputs = Inputs::read(calculator, &keys, |input| {
        given
            .get(input.key)
            .filter(|value| !value.is_null())
            .map(|value| {
                let unit = value
                    .as_str()
                    .map_or(input.kind.unit(), |text| input.kind.unit_in(text));
                (read_json(input.kind, value), unit)
            })
    })?;
    calculator.work(&inputs)
}

/// Reads a value out of JSON: a number in the unit of its kind, a text as it would be typed, or
/// an array of numbers for a list.
///
/// # Errors
/// The reason, in the words of the field.
fn read_json(kind: Kind, value: &Json) -> Result<Given, String> {
    match (kind, value) {
        (_, Json::String(text)) => kind.read(text),
        (Kind::Strength, Json::Number(_)) => {
            Err("Write the strength as a text with its basis: \"35 % w/w\"".into())
        }
        // One number is a list of one: a single run of a bucket test.
        (Kind::List(_), Json::Number(number)) => number
            .as_f64()
            .map(|number| Given::List(vec![number]))
            .ok_or_else(|| "The number is too large".into()),
        (Kind::Choice(_) | Kind::Words, Json::Number(_)) => Err(format!("Give {}", kind.takes())),
        (_, Json::Number(number)) => number
            .as_f64()
            .map(Given::Number)
            .ok_or_else(|| "The number is too large".into()),
        (Kind::List(_), Json::Array(items)) => items
            .iter()
            .map(|item| {
                item.as_f64()
                    .ok_or_else(|| "A list holds numbers only".to_owned())
            })
            .collect::<Result<Vec<f64>, String>>()
            .map(Given::List),
        _ => Err(format!("Give {}", kind.takes())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_takes_numbers_texts_and_lists() {
        let json = |text| serde_json::from_str::<Json>(text).unwrap();
        assert_eq!(
            read_json(Kind::Volume, &json("180")),
            Ok(Given::Number(180.0))
        );
        assert_eq!(
            read_json(Kind::Volume, &json("\"0.18 m3\"")),
            Ok(Given::Number(180.0))
        );
        assert_eq!(
            read_json(Kind::List(""), &json("[1, 2.5]")),
            Ok(Given::List(vec![1.0, 2.5]))
        );
        assert!(read_json(Kind::Strength, &json("35")).is_err());
        assert!(read_json(Kind::Volume, &json("null")).is_err());
        assert!(read_json(Kind::List(""), &json("[1, \"2\"]")).is_err());
    }
}
