use super::*;
use crate::stock::enough::Draw;
use crate::stock::enough::tests::{day, ml, outlook};
use chrono::Datelike;
use proptest::prelude::*;

/// Monday to Friday; the first of March 2027 is a Monday.
fn weekdays(day: NaiveDate) -> bool {
    day.weekday().num_days_from_monday() < 5
}

fn terms(lead_days: i64, sizes: &[i64]) -> Terms {
    Terms {
        lead_days,
        keeping_days: None,
        sizes: sizes.iter().map(|size| ml(*size)).collect(),
        limit: None,
    }
}

/// 20 L now, and 12 L drawn every seventh day.
fn weekly() -> Outlook {
    Outlook {
        today: day(0),
        last: day(41),
        batches: vec![Batch {
            from: day(0),
            until: None,
            amount: ml(20_000),
        }],
        draws: [3, 10, 17, 24]
            .map(|on| Draw {
                day: day(on),
                amount: ml(12_000),
            })
            .to_vec(),
    }
}

#[test]
fn it_is_ordered_so_that_it_comes_the_day_before_it_is_needed() {
    let (orders, not) =
        orders(&weekly(), &terms(4, &[5_000, 25_000]), ml(2_000), weekdays).unwrap();
    let [order] = &orders[..] else {
        panic!("{orders:?}")
    };
    assert_eq!(not, None);
    // After the second dose, on Thursday, 4 L would be missing. For Wednesday it would be ordered on a
    // Saturday, so it is ordered on the Friday and comes on Tuesday.
    assert_eq!(
        (order.needed, order.comes, order.by),
        (day(10), day(8), day(4))
    );
    // 48 L are drawn and 2 L kept: 30 L, as one large and one small container.
    assert_eq!((order.wanted, order.amount), (ml(30_000), ml(30_000)));
    assert_eq!(order.containers.len(), 2);
    assert_eq!((order.missing, order.held, order.over), (None, None, ml(0)));
}

#[test]
fn the_limit_of_the_store_makes_two_orders_of_one() {
    let terms = Terms {
        limit: Some(ml(30_000)),
        ..terms(4, &[10_000])
    };
    let (orders, not) = orders(&weekly(), &terms, ml(2_000), weekdays).unwrap();
    assert!(orders.len() > 1 && not.is_none(), "{orders:?} {not:?}");
    assert!(matches!(orders[0].held, Some(Held::ByLimit { .. })));
    let none = Terms {
        limit: Some(ml(9_000)),
        ..terms
    };
    let (orders, not) = super::orders(&weekly(), &none, ml(2_000), weekdays).unwrap();
    assert!(orders.is_empty() && matches!(not.unwrap().held, Held::ByLimit { .. }));
}

#[test]
fn no_more_is_ordered_than_is_used_in_its_keeping_time() {
    let terms = Terms {
        keeping_days: Some(14),
        ..terms(4, &[5_000])
    };
    let (orders, _) = orders(&weekly(), &terms, ml(2_000), weekdays).unwrap();
    // It comes on the 8th and keeps to the 22nd; what has a date is drawn before what has none: two doses.
    assert_eq!(orders[0].amount, ml(25_000));
    assert_eq!(orders[0].over, ml(1_000));
    assert!(matches!(orders[0].held, Some(Held::ByKeeping { .. })));
}

#[test]
fn what_passes_its_date_because_the_order_is_drawn_first_is_ordered_too() {
    let mut outlook = weekly();
    outlook.batches = vec![Batch {
        from: day(16),
        until: Some(day(17)),
        amount: ml(1_000),
    }];
    let (orders, _) = orders(&outlook, &terms(4, &[]), ml(0), weekdays).unwrap();
    // 48 L are drawn; the litre of the 16th would have gone to what is owed, and now passes its date.
    assert_eq!(orders[0].amount, ml(48_000));
    let with = outlook.with(orders[0].batch(&terms(4, &[])));
    assert_eq!(
        with.course().unwrap().least_from(day(5)),
        Some(MillilitreChange::new(0).unwrap())
    );
}

#[test]
fn an_order_that_comes_too_late_says_what_is_missing() {
    let mut outlook = weekly();
    outlook.batches.clear();
    let (orders, _) = orders(&outlook, &terms(7, &[5_000]), ml(0), weekdays).unwrap();
    assert_eq!((orders[0].by, orders[0].comes), (day(0), day(7)));
    assert_eq!(orders[0].missing, Some((day(3), ml(12_000))));
}

proptest! {
    #[test]
    fn what_is_ordered_as_said_suffices_and_stays_within_every_limit(
        outlook in outlook(), lead in 0i64..14, safety in 0i64..10_000, sizes in prop::collection::vec(1_000i64..30_000, 0..3),
        keeping in prop::option::of(3i64..90), limit in prop::option::of(0i64..200_000),
    ) {
        let terms = Terms { keeping_days: keeping, limit: limit.map(ml), ..terms(lead, &sizes) };
        let (given, _) = orders(&outlook, &terms, ml(safety), weekdays).unwrap();
        let mut after = outlook.clone();
        let mut before_it = outlook.today;
        for order in &given {
            let course = after.course().unwrap();
            prop_assert!(order.by >= outlook.today && order.comes >= plus(order.by, lead) && order.amount.get() > 0);
            // Nothing is ordered later than it has to be, except where the store has no room before.
            if order.comes >= order.needed && order.by > outlook.today {
                prop_assert!(limit.is_some() || keeping.is_some(), "{order:?}");
            }
            let batch = order.batch(&terms);
            // Never above the limit.
            if let Some(limit) = limit {
                let there = course.most_from(batch.from).map_or(0, Millilitres::get);
                prop_assert!(there + order.amount.get() <= limit, "{order:?}");
            }
            // Whole containers, with less than one of them over.
            if let Some(smallest) = sizes.iter().min() {
                prop_assert_eq!(together(&order.containers), order.amount.get());
                prop_assert!(order.amount.get() < order.wanted.get() + smallest);
                prop_assert!(order.over.get() < *smallest);
            } else {
                prop_assert!(order.amount <= order.wanted && order.over.get() == 0);
            }
            prop_assert_eq!(order.held.is_some(), order.amount < order.wanted);
            after = after.with(batch);
            if order.held.is_none() && keeping.is_none() {
                // From the day it counts on to the last one, the safety stock is there.
                let least = after.course().unwrap().least_from(batch.from);
                prop_assert!(least.is_none_or(|least| least.get() >= safety), "{order:?}");
            }
            if order.missing.is_none() && order.comes < order.needed {
                // Nothing runs out before it comes.
                let days = course.days.iter().filter(|on| on.day >= before_it && on.day <= order.comes);
                prop_assert!(days.into_iter().all(|on| on.left.get() >= 0));
            }
            before_it = batch.from;
        }
    }
}
