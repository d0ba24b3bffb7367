//! The stock on one page: by product and lot, what is on hand, how strong it is today, what is due.

use askama::Template;
use axum::extract::State;
use chrono::NaiveDate;

use super::at_hand::AtHand;
use super::deliveries::DeliveryLine;
use super::{StrengthToday, volume};
use crate::crew::{Role, Who};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::stock::limits::Warning;
use crate::stock::{Lot, LotState, Product, first_out, store};
use crate::trouble;
use crate::web::{AppError, Frame, Page, Section};

struct Line {
    path: String,
    code: String,
    on_hand: String,
    strength: StrengthToday,
    state: LotState,
    due: bool,
    retest: String,
    place: String,
    /// Whether it was mixed here.
    made: bool,
    /// Why it is the next to be used, where it is.
    next: &'static str,
}

impl Line {
    fn of(lot: &Lot, units: Units, today: NaiveDate) -> Self {
        let state = lot.state(today);
        Self {
            path: lot.path(),
            code: lot.code.clone(),
            on_hand: volume(lot, units),
            strength: StrengthToday::of(lot, today),
            state,
            due: state == LotState::RetestDue,
            retest: lot.retest_on.map_or_else(String::new, full_day),
            place: lot.place(),
            made: lot.made.is_some(),
            next: "",
        }
    }
}

struct Shelf {
    product: Product,
    label: String,
    /// What can still be used, together.
    on_hand: String,
    lots: Vec<Line>,
    /// Empty or withdrawn.
    gone: Vec<Line>,
}

#[derive(Template)]
#[template(path = "stock/list.html")]
struct StockPage {
    frame: Frame,
    lead: String,
    warnings: Vec<Warning>,
    open_troubles: usize,
    shelves: Vec<Shelf>,
    expected: Vec<DeliveryLine>,
    retired: Vec<Product>,
    may_enter: bool,
    may_add: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let (today, units) = (who.site.today(app.clock.now()), who.site.units);
    let mut conn = app.db.read().await?;
    let products = store::products(&mut conn).await?;
    let at_hand = AtHand::load(&mut conn, &who.site, today).await?;
    let open_troubles = trouble::store::open_ones(&mut conn).await?.len();
    let expected = store::deliveries(&mut conn).await?;
    drop(conn);
    let lots = &at_hand.lots;
    let first_out = first_out::usable(lots, today);
    let lead = lead(lots, units, today);
    let mut shelves = Vec::new();
    let mut retired = Vec::new();
    for product in products {
        let own = |usable: bool| {
            let of_product = lots.iter().filter(|lot| lot.product_id == product.id);
            of_product.filter(move |lot| lot.unusable(today).is_none() == usable)
        };
        if product.retired && own(true).next().is_none() {
            retired.push(product);
            continue;
        }
        let in_order = first_out.iter().filter(|lot| lot.product_id == product.id);
        let mut lines: Vec<Line> = in_order.map(|lot| Line::of(lot, units, today)).collect();
        if lines.len() > 1
            && let Some(first) = lines.first_mut()
            && let Some(lot) = first_out.iter().find(|lot| lot.product_id == product.id)
        {
            first.next = first_out::why(lot);
        }
        shelves.push(Shelf {
            label: shelf_label(&product),
            on_hand: sum(own(true).filter(|lot| lot.made.is_none()), units),
            lots: lines,
            gone: own(false).map(|lot| Line::of(lot, units, today)).collect(),
            product,
        });
    }
    Ok(Page(StockPage {
        frame: who.frame(Section::Stock),
        lead,
        warnings: at_hand.warnings(None),
        open_troubles,
        shelves,
        expected: DeliveryLine::open(expected, units, today),
        retired,
        may_enter: who.is_at_least(Role::Lead),
        may_add: who.is_at_least(Role::Coordinator),
    }))
}

fn shelf_label(product: &Product) -> String {
    match product.is_peroxide() {
        true => product.label.words(),
        false => format!("{}, {}", product.agent, product.label.words()),
    }
}

fn sum<'a>(lots: impl Iterator<Item = &'a Lot>, units: Units) -> String {
    let sum: i64 = lots.map(|lot| lot.on_hand.get()).sum();
    // Beyond what a volume can be there is no figure to show.
    Millilitres::new(sum).map_or_else(|_| String::new(), |sum| show::volume(sum.volume(), units))
}

/// The answer first: how much there is, and what is asked of somebody.
fn lead(lots: &[Lot], units: Units, today: NaiveDate) -> String {
    let usable = || lots.iter().filter(|lot| lot.is_for_doses(today));
    let due = usable()
        .filter(|lot| lot.state(today) == LotState::RetestDue)
        .count();
    let there = match usable().count() {
        0 => return "Nothing is on hand.".to_owned(),
        1 => format!("{} in one lot.", sum(usable(), units)),
        count => format!("{} in {count} lots.", sum(usable(), units)),
    };
    match due {
        0 => there,
        1 => format!("{there} One lot is due for a retest."),
        due => format!("{there} {due} lots are due for a retest."),
    }
}
