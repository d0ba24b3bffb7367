//! What the plan reckons a dose with: the product of its lot, the pours of its jug, the hours of its room.

use slackwater::crew::Role;

use crate::cleanouts::House;

/// A stronger product beside the first, 30 L of it, whose date comes first.
async fn a_second_product(house: &House) {
    house
        .run("insert into product (id, name, agent, strength_value, strength_basis, label_says) values (2, 'Peroxide 50', 'hydrogen peroxide', 50, '% w/w', 'Rinse after use.')")
        .await;
    house
        .run("insert into lot (id, product_id, code, received_on, retest_on, kept_in, created_at) values (2, 2, 'Q-7', '2027-03-01', '2027-05-01', 'store 2', '2027-03-01T09:00:00Z')")
        .await;
    house
        .run("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (2, 'received', 30000, 1, '2027-03-01T09:00:00Z')")
        .await;
}

/// By the sheet 14.73 L of 35 % w/w, poured as 14.75 L from a jug with marks of 50 mL. Of 50 % w/w it is
/// 5 833.9 g / (0.5 x 1.195 kg/L) = 9.76 L, poured as 9.8 L.
#[tokio::test]
async fn each_dose_is_planned_with_the_product_of_its_lot_and_the_pours_of_its_jug() {
    let house = House::proposed().await;
    house.garden.sign_in("Oda R.", Role::Lead).await;
    let plan = async || house.ines.get("/plan").await;
    plan()
        .await
        .shows(&["Peroxide 35", "14.75 L", "5.25 L left after the plan"]);
    // The lot that is chosen stays, whatever comes first.
    a_second_product(&house).await;
    plan()
        .await
        .shows(&["14.75 L", "5.25 L left after the plan"])
        .does_not_say(&["Peroxide 50"]);
    // Without a choice it is the one that the choices offer first, by its own strength.
    house.run("update cleanout set lot_id = null").await;
    plan()
        .await
        .shows(&[
            "Where no lot is chosen yet",
            "Peroxide 50 for 1",
            "9.8 L",
            "20.2 L left after the plan",
        ])
        .does_not_say(&["14.75 L"]);
    house.ines.get("/stock/enough").await.shows(&[
        "It does not run out: 20.2 L left",
        "It does not run out: 20 L left",
    ]);
    // What no longer has enough for a whole dose makes way for the next.
    house
        .run("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (2, 'spilled', -24000, 1, '2027-03-03T09:00:00Z')")
        .await;
    plan().await.shows(&["Peroxide 35 for 1", "14.75 L"]);
}

#[tokio::test]
async fn two_products_have_a_curve_each_and_the_timetable_names_them() {
    let house = House::proposed().await;
    house.garden.sign_in("Oda R.", Role::Lead).await;
    a_second_product(&house).await;
    // A second system as large as the first, whose dose is from the other product.
    house
        .run("insert into system (id, room_id, name, created_at) values (2, 1, 'North 3', '2027-01-01T00:00:00Z')")
        .await;
    house
        .run("insert into cleanout (number, system_id, method_version_id, state, starts_on, starts_min, length_min, lot_id, target_value, target_basis, target_source, created_at)
              select '27-0002', 2, method_version_id, 'proposed', starts_on, starts_min, length_min, 2, 3, '% w/v', 'none', created_at from cleanout where id = 1")
        .await;
    house.ines.get("/plan").await.shows(&[
        "Two clean-outs are planned.",
        "14.75 L of Peroxide 35",
        "30 L left after the plan",
        "5.25 L left after the plan",
    ]);
}

#[tokio::test]
async fn a_single_clean_out_is_proposed_where_its_room_lets_it_be_dosed() {
    let house = House::new().await;
    let taken = [
        ("what", "taken"),
        ("from", "2027-03-09"),
        ("to", "2027-03-09"),
        ("from_time", "09:00"),
        ("to_time", "12:00"),
        ("name", "Open morning"),
    ];
    house.ines.post("/rooms/1/days/new", &taken).await.sent_on();
    let hanne = house.garden.sign_in("Hanne W.", Role::Lead).await;
    house.propose().await;
    // From eight it would be dosed at half past nine, with others in the room; from noon it no longer fits the day.
    let there = house.cleanout().await;
    let (day, minute) = (there.starts_on.to_string(), there.starts_min);
    assert_eq!((day.as_str(), minute), ("2027-03-10", 480));
    hanne
        .get("/clean-outs/1")
        .await
        .does_not_say(&["Others are in North bay on Wednesday"]);
}
