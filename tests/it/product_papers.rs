//! What the papers of a product say: its density, the time before anybody goes in again, its safety data sheet.

use axum::http::Method;
use slackwater::crew::Role;

use crate::garden::{Answer, Garden, Person};
use crate::stores::lot_in_a_cage;

#[tokio::test]
async fn a_density_that_does_not_belong_to_the_strength_is_asked_about() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let product = |density| {
        [
            ("name", "Peroxide 35"),
            ("strength", "35"),
            ("basis", "% w/w"),
            ("density", density),
        ]
    };
    ines.post("/stock/products", &product("1.195"))
        .await
        .refused("density", "weighs 1.131 kg/L");
    ines.post("/stock/products", &product("heavy"))
        .await
        .refused("density", "");
    let page = ines
        .post("/stock/products", &product("1.132"))
        .await
        .sent_on();
    ines.get(&page)
        .await
        .shows(&["1.132 kg/L", "1.131 kg/L by the density formula"]);
}

#[tokio::test]
async fn the_time_before_anybody_goes_in_again_is_taken_in_whole_minutes() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let product = |reentry| {
        [
            ("name", "Peroxide 35"),
            ("strength", "35"),
            ("basis", "% w/w"),
            ("reentry", reentry),
        ]
    };
    for wrong in ["0", "10081", "until dry", "4.5"] {
        let refused = ines.post("/stock/products", &product(wrong)).await;
        refused
            .refused("reentry", "Write whole minutes from 1 to 10080")
            .says(&[&format!("value=\"{wrong}\"")]);
    }
    let page = ines
        .post("/stock/products", &product("240"))
        .await
        .sent_on();
    ines.get(&page)
        .await
        .shows(&["Nobody goes in again for", "4 h, by the label or the law"]);
    ines.get(&format!("{page}/change"))
        .await
        .shows(&["value=\"240\""]);
}

async fn send_sheet(person: &Person, day: &str, name: &str, content: &str) -> Answer {
    let body = format!(
        "--b\r\ncontent-disposition: form-data; name=\"post_key\"\r\n\r\nk1\r\n\
         --b\r\ncontent-disposition: form-data; name=\"revised_on\"\r\n\r\n{day}\r\n\
         --b\r\ncontent-disposition: form-data; name=\"file\"; filename=\"{name}\"\r\ncontent-type: application/pdf\r\n\r\n{content}\r\n--b--\r\n"
    );
    let headers = [
        ("sec-fetch-site", "same-origin"),
        ("content-type", "multipart/form-data; boundary=b"),
    ];
    person
        .ask(Method::POST, "/stock/products/1/sheets", &body, &headers)
        .await
}

#[tokio::test]
async fn a_safety_data_sheet_is_taken_by_its_content_and_handed_out_as_a_file() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    lot_in_a_cage(&ines).await;
    ines.get("/stock/products/1")
        .await
        .shows(&["No safety data sheet is here", "hydrogen dioxide"]);
    let pdf = format!("%PDF-1.7\n{}\n%%EOF\n", "x".repeat(3000));
    let page = "<html><script>alert(1)</script></html>".repeat(10);
    send_sheet(&ines, "2026-05-02", "sheet.pdf", &page)
        .await
        .refused("file", "This file is no PDF, whatever its name says.");
    send_sheet(&ines, "2026-05-02", "sheet.pdf", "")
        .await
        .refused("file", "Choose the file");
    send_sheet(&ines, "2026-05-02", "sheet.pdf", &pdf[..3000])
        .await
        .refused("file", "it was cut off");
    send_sheet(&ines, "2029-05-02", "sheet.pdf", &pdf)
        .await
        .refused("revised_on", "still to come");
    let large = format!("%PDF-1.7\n{}\n%%EOF\n", "x".repeat(4 * 1024 * 1024));
    send_sheet(&ines, "2026-05-02", "sheet.pdf", &large)
        .await
        .refused("file", "larger than 4 MB");
    let larger = format!("%PDF-1.7\n{}\n%%EOF\n", "x".repeat(6 * 1024 * 1024));
    send_sheet(&ines, "2026-05-02", "sheet.pdf", &larger)
        .await
        .refused("file", "larger than 4 MB");
    // A name that reaches elsewhere is not used for anything.
    send_sheet(&ines, "2026-05-02", "../../etc/passwd\".html", &pdf)
        .await
        .sent_on();
    // A second tap is answered with the first answer.
    send_sheet(&ines, "2026-05-02", "../../etc/passwd\".html", &pdf)
        .await
        .sent_on();
    send_sheet(&ines, "2023-01-02", "old.pdf", &pdf)
        .await
        .sent_on();
    let page = ines.get("/stock/products/1").await;
    page.shows(&[
        "Revised on 2 May 2026",
        "(PDF, 3 kB), the one that counts",
        "Revised on 2 January 2023",
    ]);
    page.does_not_say(&["/sheets/3", "passwd"]);
    let hand = garden.sign_in("Oda", Role::Viewer).await;
    let file = hand.get("/stock/products/1/sheets/1").await;
    assert_eq!(
        (file.status.as_u16(), file.text.as_str()),
        (200, pdf.as_str())
    );
    let header = |name| file.headers.get(name).unwrap().to_str().unwrap();
    assert_eq!(header("content-type"), "application/pdf");
    assert_eq!(
        header("content-disposition"),
        "attachment; filename=\"safety-data-sheet-1-1.pdf\""
    );
    assert_eq!(header("x-content-type-options"), "nosniff");
    assert!(header("content-security-policy").contains("default-src 'none'"));
    assert_eq!(hand.get("/stock/products/2/sheets/1").await.status, 404);
    assert_eq!(garden.logbook_says("safety data sheet added").await, 2);
    garden.logbook_is_whole().await;
}
