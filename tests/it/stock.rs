//! The stock: what is received, drawn, counted and assayed, and that nobody takes what is not there.

use slackwater::crew::Role;
use slackwater::ids::{LotId, PersonId};
use slackwater::science::peroxide::YearlyLoss;
use slackwater::science::stored::{MillilitreChange, Millilitres};
use slackwater::science::strength::{Basis, Strength};
use slackwater::state::App;
use slackwater::stock::store::{self, Draw, NewLot, NewProduct, NotDrawn};
use slackwater::text::{Name, Note};

use crate::garden::Garden;

/// A product of 35 % w/w and a lot of it with so many millilitres.
pub async fn lot_of(app: &App, person: PersonId, code: &str, amount: i64) -> LotId {
    let now = app.clock.now();
    let mut tx = app.db.write().await.unwrap();
    let product = NewProduct {
        name: Name::parse(&format!("Peroxide 35, {code}")).unwrap(),
        label: Strength::new(35.0, Basis::PercentWw).unwrap(),
        label_reference: "GB-0117".to_owned(),
        label_says: Note::default(),
    };
    let product_id = store::insert_product(&mut tx, &product).await.unwrap();
    let new = NewLot {
        product_id,
        code: code.to_owned(),
        received_on: "2027-03-01".parse().unwrap(),
        opened_on: None,
        retest_on: None,
        kept_in: "store 2".to_owned(),
        loss: YearlyLoss::USUAL,
    };
    let lot = store::insert_lot(&mut tx, &new, now).await.unwrap();
    let change = MillilitreChange::new(amount).unwrap();
    store::received(&mut tx, lot, change, person, now)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    lot
}

fn draw_of(lot: LotId, person: PersonId, amount: i64, garden: &Garden) -> Draw {
    Draw {
        lot,
        amount: Millilitres::new(amount).unwrap(),
        cleanout: None,
        reason: Note::parse("trays of propagation").unwrap(),
        person,
        today: "2027-03-04".parse().unwrap(),
        at: garden.app.clock.now(),
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn fifty_who_want_the_last_litre_at_once_get_exactly_the_litre() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let lot = lot_of(&garden.app, tobit.id, "P-118", 1_000).await;
    let mut tasks = Vec::new();
    for _ in 0..50 {
        let (app, draw) = (garden.app.clone(), draw_of(lot, tobit.id, 100, &garden));
        tasks.push(tokio::spawn(async move {
            let mut tx = app.db.write().await.unwrap();
            match store::draw(&mut tx, &draw).await {
                Ok(_) => {
                    tx.commit().await.unwrap();
                    true
                }
                Err(NotDrawn::NotEnough(refusal)) => {
                    assert_eq!(refusal.on_hand.get(), 0);
                    false
                }
                Err(other) => panic!("{other}"),
            }
        }));
    }
    let mut got = 0;
    for task in tasks {
        got += i64::from(task.await.unwrap());
    }
    assert_eq!(got, 10);
    let mut conn = garden.app.db.read().await.unwrap();
    let after = store::by_id(&mut conn, lot).await.unwrap().unwrap();
    assert_eq!(after.on_hand.get(), 0);
    assert_eq!(store::of_lot(&mut conn, lot).await.unwrap().len(), 11);
    // The first draw opened the can.
    assert_eq!(after.opened_on, "2027-03-04".parse().ok());
}

#[tokio::test]
async fn a_draw_that_is_not_committed_leaves_nothing() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let lot = lot_of(&garden.app, tobit.id, "P-118", 1_000).await;
    let mut tx = garden.app.db.write().await.unwrap();
    store::draw(&mut tx, &draw_of(lot, tobit.id, 600, &garden))
        .await
        .unwrap();
    drop(tx);
    let mut conn = garden.app.db.read().await.unwrap();
    let after = store::by_id(&mut conn, lot).await.unwrap().unwrap();
    assert_eq!((after.on_hand.get(), after.opened_on), (1_000, None));
}
