//! Flow and drain times of a system, as a piece of its page.

use askama::Template;
use askama::filters::HtmlSafe;

use crate::register::flow_tests::Timing;
use crate::register::flow_trend::{Brought, Trend, trends};
use crate::register::hold::Parts;
use crate::science::units::Units;

#[derive(Debug, Template)]
#[template(path = "register/flow_history.html")]
pub struct FlowHistory {
    path: String,
    trends: Vec<Trend>,
    may_measure: bool,
}

impl HtmlSafe for FlowHistory {}

impl FlowHistory {
    pub(super) fn of(parts: &Parts, timings: &[Timing], units: Units, may_measure: bool) -> Self {
        Self {
            path: parts.system.path(),
            trends: trends(parts, timings, units),
            may_measure,
        }
    }
}
