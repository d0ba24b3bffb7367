//! The list, an answer and a refusal, for people.

use std::io::{self, Write};

use crate::calculators::registry::GROUPS;
use crate::calculators::{Answer, Calculator, Found, Input, Need, Refusal};
use crate::science::show;
use crate::science::units::Units;

/// Every calculator with what it takes and gives.
pub fn list(out: &mut impl Write) -> io::Result<()> {
    for (title, calculators) in GROUPS {
        writeln!(out, "{title}\n{}\n", "=".repeat(title.chars().count()))?;
        for calculator in calculators {
            describe(calculator, out)?;
            writeln!(out)?;
        }
    }
    writeln!(
        out,
        "Every answer by lines: slackwater calc --lines, {{\"calc\": \"dose\", \"stock\": \"35 % w/w\", ...}}"
    )?;
    writeln!(
        out,
        "A bare number is in the first unit named; a text may hold another: \"40 US gal\"."
    )?;
    writeln!(
        out,
        "An answer by lines holds \"answer\" and, for each key marked 'with its range', \"lower\" and \"upper\" under the same key and in the same unit: about 95 in 100 lie between (k = 2). \"made_of\" says what each range is made of: what, how far it may be off and how that is known, and its share, 0 to 1."
    )
}

/// One calculator with what it takes and gives, where its formulas come from and what to beware of.
pub fn describe(calculator: &Calculator, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "{}: {}.", calculator.name, calculator.says)?;
    writeln!(out, "  takes")?;
    for input in calculator.inputs {
        writeln!(
            out,
            "    {:<16} {}; {}{}",
            input.key,
            input.says_in(input.kind.unit()),
            input.kind.takes(),
            limits(input)
        )?;
    }
    writeln!(out, "  gives")?;
    for output in calculator.outputs {
        let unit = output.kind.unit();
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!(", {unit}")
        };
        let range = if calculator.may_range(output) {
            "; with its range (lower, upper)"
        } else {
            ""
        };
        writeln!(out, "    {:<24} {}{unit}{range}", output.key, output.says)?;
    }
    for source in calculator.sources {
        writeln!(out, "  source: {source}")?;
    }
    for caution in calculator.cautions {
        writeln!(out, "  caution: {caution}")?;
    }
    let words: Vec<String> = calculator
        .example
        .iter()
        .map(|word| {
            if word.contains([' ', ';']) {
                format!("\"{word}\"")
            } else {
                (*word).to_owned()
            }
        })
        .collect();
    writeln!(
        out,
        "  example: slackwater calc {} {}",
        calculator.name,
        words.join(" ")
    )
}

fn limits(input: &Input) -> String {
    let (least, most) = input.range;
    let range = match (least > f64::MIN, most < f64::MAX) {
        (true, true) => format!("; {least} to {most}"),
        _ => String::new(),
    };
    match input.need {
        Need::Must => range,
        Need::May => format!("{range}; may be left out"),
        Need::Or(usual) => format!("{range}; {usual} if left out"),
    }
}

/// An answer, each line with how it comes about.
pub fn write(
    calculator: &Calculator,
    answer: &Answer,
    units: Units,
    out: &mut impl Write,
) -> io::Result<()> {
    writeln!(out, "{}", calculator.says)?;
    for line in &answer.lines {
        let Some(output) = calculator.output(line.key) else {
            continue;
        };
        let value = match &line.found {
            Found::Number(number) => output.kind.show(*number, units),
            Found::List(numbers) => {
                let shown: Vec<String> = numbers
                    .iter()
                    .map(|number| output.kind.show(*number, units))
                    .collect();
                shown.join("; ")
            }
            Found::Words(words) => words.clone(),
            Found::None => "none".into(),
        };
        let range = answer.range_of(line.key);
        let value = match range.and_then(|range| calculator.between(range, units)) {
            Some(between) => format!("{value}, {between}"),
            None => value,
        };
        let working = match line.working.as_str() {
            "" => String::new(),
            working => format!("   ({working})"),
        };
        writeln!(out, "  {}: {value}{working}", output.says)?;
    }
    if let Some(range) = calculator.headline_range(answer) {
        let said = calculator
            .output(range.key)
            .map_or("", |output| output.says);
        writeln!(
            out,
            "What the range of '{said}' is made of (about 95 in 100, k = 2):"
        )?;
        for part in &range.made_of {
            let percent = show::fixed(part.share * 100.0, 0);
            writeln!(out, "  {percent} %: {}, {}", part.what, part.how)?;
        }
    }
    for caution in &answer.cautions {
        writeln!(out, "Caution: {caution}")?;
    }
    Ok(())
}

/// A refusal, each reason with its input.
pub fn write_refusal(refused: &[Refusal], err: &mut impl Write) -> io::Result<()> {
    for Refusal { field, reason } in refused {
        match field {
            Some(field) => writeln!(err, "{field}: {reason}")?,
            None => writeln!(err, "{reason}")?,
        }
    }
    Ok(())
}
