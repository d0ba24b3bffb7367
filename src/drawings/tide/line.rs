//! The tide line as it stands on a page, and the week of one system as it stands on a card.

use std::fmt;

use super::axis::{Head, WeekHead};
use super::row::{Picture, Times};
use super::sea::Scale;
use super::stake::Label;
use super::stock::Fall;
use super::{Days, Form, Row, StockRow, Text};

/// Every system on one axis, and the stock below them on the same axis.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    pub days: Days,
    pub form: Form,
    pub rows: &'a [Row],
    pub stock: &'a [StockRow],
}

impl askama::filters::HtmlSafe for Line<'_> {}

impl fmt::Display for Line<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            days,
            form,
            rows,
            stock,
        } = *self;
        let (compact, columns) = match form {
            Form::Full => ("", true),
            Form::Compact => (" compact", false),
        };
        let weeks = days.weeks();
        // Past four weeks two digits no longer fit over a day.
        let long = if weeks > 4 { " long" } else { "" };
        write!(
            f,
            "<div class=\"tides w{weeks}{compact}{long}\">\n{}",
            Head { days, columns }
        )?;
        f.write_str("<ol class=\"tide-list\">\n")?;
        let scale = match form {
            Form::Full => Scale::new(60.0, 722.0, days),
            Form::Compact => Scale::new(44.0, 341.0, days),
        };
        for row in rows {
            let (href, name) = (Text(&row.href), Text(&row.name));
            write!(
                f,
                "<li class=\"tide\"><div class=\"tide-name\"><a href=\"{href}\">{name}</a>"
            )?;
            if columns {
                let (state, volume) = (Text(&row.state), Text(&row.volume));
                write!(
                    f,
                    "<span class=\"state\">{state}</span><span>{volume}</span>"
                )?;
            }
            let picture = Picture {
                told: false,
                row,
                days,
                scale,
                label: Label::Number,
            };
            write!(f, "</div>\n<div class=\"tide-sea\">{picture}</div>\n")?;
            if columns {
                write!(f, "{}", Times { row, days })?;
            }
            f.write_str("</li>\n")?;
        }
        f.write_str("</ol>\n")?;
        for row in stock {
            write!(f, "{}", Fall { row, days })?;
        }
        f.write_str("</div>\n")
    }
}

/// The week of one clean-out on its card: no links, the start beside the stake.
#[derive(Debug, Clone, Copy)]
pub struct Week<'a> {
    /// Any day of the week to show, with nothing of the present: a card is read for days.
    pub day: chrono::NaiveDate,
    pub row: &'a Row,
}

impl askama::filters::HtmlSafe for Week<'_> {}

impl fmt::Display for Week<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = Days::from_week_of(self.day, 1, None);
        let scale = Scale::new(52.0, 722.0, days);
        let mut row = self.row.clone();
        row.stakes.iter_mut().for_each(|stake| stake.href = None);
        let picture = Picture {
            told: false,
            row: &row,
            days,
            scale,
            label: Label::Clock,
        };
        let head = WeekHead(days);
        writeln!(f, "<div class=\"card-tide tides w1\">{head}{picture}</div>")
    }
}
