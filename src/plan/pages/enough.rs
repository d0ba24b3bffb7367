//! Enough on the day: each product and the purified water over the weeks to come, and what to order.

use askama::Template;
use axum::extract::State;

use crate::crew::{Role, Who};
use crate::drawings::stock_days::StockDays;
use crate::ids::ProductId;
use crate::plan::enough::{Ahead, Line, ProductAhead, WaterAhead, load};
use crate::register::entry;
use crate::science::quantity::litres;
use crate::science::show;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::units::Units;
use crate::site::prices::Prices;
use crate::site::{Site, short_day};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

/// A clean-out as it stands in the list.
struct Draws {
    on: String,
    system: String,
    number: String,
    path: String,
    how: &'static str,
    amount: String,
    left: String,
    short: bool,
}

/// A day on which something comes or goes, for who cannot see the curve.
struct Day {
    on: String,
    came: String,
    drawn: String,
    left: String,
    short: bool,
}

struct Proposed {
    words: String,
    late: String,
    cost: String,
    lines: Vec<Line>,
}

struct ProductPart {
    id: ProductId,
    name: String,
    verdict: String,
    short: bool,
    drawing: StockDays,
    lines: Vec<Line>,
    draws: Vec<Draws>,
    orders: Vec<Proposed>,
    not_ordered: String,
    days: Vec<Day>,
}

struct WaterPart {
    verdict: String,
    short: bool,
    makes: String,
    drawing: StockDays,
    days: Vec<Day>,
}

#[derive(Template)]
#[template(path = "plan/enough.html")]
struct EnoughPage {
    frame: Frame,
    last: String,
    products: Vec<ProductPart>,
    water: Option<WaterPart>,
    bench_week: String,
    assumed: Vec<String>,
    may_change: bool,
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (ahead, prices) = load::ahead(&app, &mut conn, &who.site, app.clock.now()).await?;
    drop(conn);
    let prices = prices.as_ref();
    let bench_week = prices.and_then(|prices| Some((prices, prices.bench_week?)));
    let parts = ahead.products.iter();
    Ok(Page(EnoughPage {
        frame: who.frame(Section::Stock),
        last: crate::site::full_day(ahead.last),
        products: parts
            .map(|product| part(&ahead, product, &who.site, prices))
            .collect(),
        water: ahead
            .water
            .as_ref()
            .map(|water| water_part(&ahead, water, who.site.units)),
        bench_week: bench_week.map_or_else(String::new, |(prices, amount)| {
            prices.currency.words(amount)
        }),
        assumed: ahead.assumed,
        may_change: who.is_at_least(Role::Coordinator),
    }))
}

fn volume(amount: Millilitres, units: Units) -> String {
    match amount.get() {
        0 => String::new(),
        _ => show::volume(amount.volume(), units),
    }
}

/// What is left, or what is missing.
fn left(left: MillilitreChange, units: Units) -> String {
    let words = show::volume(litres(left.get().unsigned_abs() as f64 / 1000.0), units);
    match left.get() < 0 {
        true => format!("{words} missing"),
        false => words,
    }
}

/// In the unit of the site, for the drawing.
fn figure(left: i64, units: Units) -> f64 {
    let volume = litres(left as f64 / 1000.0);
    entry::large(units).count(volume)
}

fn part(
    ahead: &Ahead,
    product: &ProductAhead,
    site: &Site,
    prices: Option<&Prices>,
) -> ProductPart {
    let units = site.units;
    let course = &product.course;
    let draws = product.planned.iter().map(|one| {
        let on = one
            .dose_on(site.zone)
            .unwrap_or(ahead.today)
            .max(ahead.today);
        let then = course.left_on(on);
        Draws {
            on: short_day(on),
            system: one.system.clone(),
            number: one.number.clone(),
            path: one.path.clone(),
            how: one.how.words(),
            amount: Millilitres::new(one.concentrate_ml)
                .map_or_else(|_| String::new(), |ml| volume(ml, units)),
            left: then.map_or_else(String::new, |then| left(then, units)),
            short: then.is_some_and(|then| then.get() < 0),
        }
    });
    let orders = product.orders.iter().map(|order| Proposed {
        words: product.order_words(order, ahead.today, units),
        late: order.missing.map_or_else(String::new, |(since, missing)| {
            format!(
                "It comes too late for {}: {} are missing until then.",
                short_day(since),
                volume(missing, units)
            )
        }),
        cost: product.cost_words(order, prices).unwrap_or_default(),
        lines: product.order_lines(order, units),
    });
    let eventful = course.days.iter().filter(|day| {
        let changes = [day.came, day.drawn, day.lapsed];
        day.day == ahead.today || changes.iter().any(|change| change.get() > 0)
    });
    let days = eventful.map(|day| {
        let lapsed = match day.lapsed.get() {
            0 => String::new(),
            _ => format!("{} to be retested", volume(day.lapsed, units)),
        };
        let drawn = [volume(day.drawn, units), lapsed];
        let drawn: Vec<String> = drawn
            .into_iter()
            .filter(|words| !words.is_empty())
            .collect();
        Day {
            on: short_day(day.day),
            came: volume(day.came, units),
            drawn: drawn.join(", "),
            left: left(day.left, units),
            short: day.left.get() < 0,
        }
    });
    let evening = |course: &crate::stock::enough::Course| -> Vec<f64> {
        let days = course.days.iter();
        days.map(|day| figure(day.left.get(), units)).collect()
    };
    let with_orders = match product.orders.is_empty() {
        true => Vec::new(),
        false => evening(&product.with_orders),
    };
    ProductPart {
        id: product.id(),
        name: product.product.name.to_string(),
        verdict: product.verdict(ahead.last, units),
        short: course.runs_out().is_some(),
        drawing: StockDays {
            what: product.product.name.to_string(),
            unit: entry::large(units).symbol().to_owned(),
            first: ahead.today,
            left: evening(course),
            with_orders,
            least: Some(figure(product.safety.amount().get(), units)).filter(|least| *least > 0.0),
            most: product.limit.map(|(most, _)| figure(most.get(), units)),
            runs_out: course.runs_out(),
            order_by: product.first().map(|order| order.by),
        },
        lines: product.lines(units),
        draws: draws.collect(),
        orders: orders.collect(),
        not_ordered: product.not_ordered_words(units).unwrap_or_default(),
        days: days.collect(),
    }
}

fn water_part(ahead: &Ahead, water: &WaterAhead, units: Units) -> WaterPart {
    let days = water.days.iter();
    let eventful = days
        .clone()
        .filter(|day| day.day == ahead.today || day.drawn.get() > 0);
    let unit = entry::large(units);
    WaterPart {
        verdict: water.verdict(ahead.last, units),
        short: water.short().is_some(),
        makes: entry::show_flow(water.tank.makes.flow(), units),
        drawing: StockDays {
            what: "Purified water".to_owned(),
            unit: unit.symbol().to_owned(),
            first: ahead.today,
            left: days.map(|day| figure(day.evening.get(), units)).collect(),
            with_orders: Vec::new(),
            least: None,
            most: Some(figure(water.tank.usable.get(), units)),
            runs_out: water.short().map(|day| day.day),
            order_by: None,
        },
        days: eventful
            .map(|day| Day {
                on: short_day(day.day),
                came: left(day.lowest, units),
                drawn: volume(day.drawn, units),
                left: left(day.evening, units),
                short: day.lowest.get() < 0,
            })
            .collect(),
    }
}
