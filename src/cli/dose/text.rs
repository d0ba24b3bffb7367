//! The sheet for a terminal: the sentence first, then every line, the pours, the label rule, the
//! warnings and the cautions.

use std::io::{self, Write};

use super::Complaint;
use crate::science::dilution::{DoseSheet, Line};
use crate::science::quantity::{Volume, in_litres};
use crate::science::show;
use crate::science::units::Units;

/// A no-break space helps on a page and hinders in a terminal, where people search and copy.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

pub(super) fn write(sheet: &DoseSheet, units: Units, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "{}", plain(&sheet.sentence(units)))?;
    write_lines(&sheet.lines(units), out)?;
    write_pours(sheet, units, out)?;
    write_range(sheet, out)?;
    write_label_rule(sheet, units, out)?;
    if !sheet.warnings.is_empty() {
        writeln!(out, "\nLook at this before pouring")?;
        for warning in &sheet.warnings {
            writeln!(out, "  {}", plain(&warning.words()))?;
        }
    }
    write_cautions(sheet, out)
}

fn write_lines(lines: &[Line], out: &mut impl Write) -> io::Result<()> {
    let width = |text: fn(&Line) -> &str| {
        lines
            .iter()
            .map(|line| text(line).chars().count())
            .max()
            .unwrap_or_default()
    };
    let (labels, results) = (width(|line| &line.label), width(|line| &line.result));
    let mut part = None;
    for line in lines {
        if part != Some(line.part) {
            part = Some(line.part);
            writeln!(out, "\n{}", line.part.words())?;
        }
        let known = line.known.words();
        let (label, result) = (plain(&line.label), plain(&line.result));
        writeln!(out, "  {label:labels$}  {result:>results$}  {known}")?;
        if !line.working.is_empty() {
            writeln!(out, "    {}", plain(&line.working))?;
        }
    }
    Ok(())
}

fn write_pours(sheet: &DoseSheet, units: Units, out: &mut impl Write) -> io::Result<()> {
    if sheet.poured.is_none() {
        return Ok(());
    }
    let count = sheet.batches.len();
    for (place, batch) in sheet.batches.iter().enumerate() {
        let batch_words = if count > 1 {
            let strength = show::figures(batch.fraction.percent(), 3);
            format!(
                ", batch {} of {count} ({strength} % w/w by itself)",
                place + 1
            )
        } else {
            String::new()
        };
        writeln!(
            out,
            "\nPours{batch_words}: into {} of purified water, pump running",
            plain(&show::volume(batch.water, units))
        )?;
        let mut so_far = Volume {
            value: 0.0,
            ..batch.water
        };
        for (place, pour) in batch.pours.iter().enumerate() {
            so_far += pour.volume();
            writeln!(
                out,
                "  [ ] {:>3}  {}, so far {}",
                place + 1,
                plain(&show::pour(pour.volume(), units)),
                plain(&show::pour(so_far, units))
            )?;
        }
    }
    Ok(())
}

fn write_range(sheet: &DoseSheet, out: &mut impl Write) -> io::Result<()> {
    let Some(range) = &sheet.range else {
        return Ok(());
    };
    writeln!(
        out,
        "\nThe solution lies {}, in about 95 of 100 cases; by share, from",
        plain(&range.words())
    )?;
    for part in &range.budget.contributions {
        let share = show::fixed(range.budget.share(part) * 100.0, 0);
        writeln!(out, "  {share:>3} %  {}: {}", part.what, plain(&part.how))?;
    }
    Ok(())
}

fn write_label_rule(sheet: &DoseSheet, units: Units, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "\nBeside it: the label rule, percent against percent")?;
    match &sheet.label_rule {
        Err(none) => writeln!(out, "  {}", plain(none.words())),
        Ok(rule) => {
            let side = if rule.misses.value < 0.0 {
                "less"
            } else {
                "more"
            };
            writeln!(
                out,
                "  {} L × {} ÷ {} = {}, {} {side} than the balance",
                plain(&show::figures(in_litres(sheet.finished.volume), 4)),
                show::figures(rule.target_percent, 4),
                show::figures(rule.stock_percent, 4),
                plain(&show::volume(rule.concentrate, units)),
                plain(&show::volume(rule.misses.abs(), units)),
            )?;
            writeln!(out, "  {}", plain(&rule.verdict()))
        }
    }
}

fn write_cautions(sheet: &DoseSheet, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "\nCaution")?;
    for caution in [
        "Concentrate burns eyes and skin: goggles, face shield, long gauntlets, apron; eyewash within ten seconds.",
        "Water first, then the concentrate into it, never the other way. Nothing goes back into the can.",
        "It feeds fire: no rags, wood, oil or rust near it. Never with bleach, acid, ammonia or fertiliser.",
    ] {
        writeln!(out, "  {caution}")?;
    }
    // Gas is given in litres to every reader: nobody knows gallons of oxygen.
    let oxygen = plain(&show::volume(sheet.oxygen(), Units::Metric));
    writeln!(
        out,
        "  Vents open, fan on: if all of it broke down, {oxygen} of oxygen would come off."
    )?;
    writeln!(
        out,
        "  Trained adults only. The product's label and local rules win over this sheet."
    )
}

pub(super) fn write_refusal(complaints: &[Complaint], err: &mut impl Write) -> io::Result<()> {
    for complaint in complaints {
        match complaint.option {
            Some(option) => writeln!(err, "{option}: {}", plain(&complaint.words))?,
            None => writeln!(err, "No dose. {}", plain(&complaint.words))?,
        }
    }
    Ok(())
}
