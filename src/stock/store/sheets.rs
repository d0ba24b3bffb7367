//! The SQL of safety data sheets. A list never reads their content.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, ProductId, SafetySheetId};
use crate::stock::sheet::{Pdf, Sheet};
use crate::text::Name;

/// The sheets of a product; the first one counts.
pub async fn sheets(conn: &mut SqliteConnection, product: ProductId) -> sqlx::Result<Vec<Sheet>> {
    sqlx::query_as!(
        Sheet,
        r#"select s.id as "id!: SafetySheetId", s.product_id as "product_id: ProductId", s.revised_on as "revised_on: NaiveDate",
                  length(s.pdf) as "bytes!: i64", s.sha256, p.name as "person: Name", s.at as "at: Moment"
             from safety_sheet s join person p on p.id = s.person_id
            where s.product_id = ?1 order by s.revised_on desc, s.id desc"#,
        product,
    )
    .fetch_all(conn)
    .await
}

/// The content of one.
pub async fn sheet_file(
    conn: &mut SqliteConnection,
    product: ProductId,
    id: SafetySheetId,
) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar!(
        "select pdf from safety_sheet where id = ?1 and product_id = ?2",
        id,
        product
    )
    .fetch_optional(conn)
    .await
}

pub async fn insert_sheet(
    tx: &mut WriteTx,
    product: ProductId,
    revised_on: NaiveDate,
    pdf: &Pdf,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<SafetySheetId> {
    let (bytes, sha256) = (pdf.bytes(), pdf.sha256());
    sqlx::query_scalar!(
        r#"insert into safety_sheet (product_id, revised_on, pdf, sha256, person_id, at) values (?1, ?2, ?3, ?4, ?5, ?6)
           returning id as "id!: SafetySheetId""#,
        product,
        revised_on,
        bytes,
        sha256,
        person,
        at,
    )
    .fetch_one(tx.conn())
    .await
}
