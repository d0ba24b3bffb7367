//! Who is here when at the demo site, and what its clean-outs draw on.

use chrono::{Days, NaiveDate};

use super::Story;
use crate::cli::demo::person::Person;
use crate::register;

/// A line a day; '=' is as the day above.
fn week(from: NaiveDate, hours: [&str; 7], overtime: &str) -> Vec<(&'static str, String)> {
    let mut fields = vec![
        ("in_force_from", from.to_string()),
        ("newest", String::new()),
    ];
    fields.extend(hours.map(|hours| ("hours", hours.to_owned())));
    if !overtime.is_empty() {
        let first = [("overtime", overtime.to_owned())];
        fields.extend(first);
        fields.extend([(); 6].map(|()| ("overtime", "=".to_owned())));
        fields.push(("overtime_allowed", "yes".to_owned()));
    }
    fields
}

impl Story {
    /// A day that is still to come.
    fn ahead(&self, days: u64) -> NaiveDate {
        self.today + Days::new(days)
    }

    pub(super) async fn hours_and_supplies(&self, ines: &mut Person) -> anyhow::Result<()> {
        self.hours(ines).await?;
        self.water(ines).await?;
        self.kit(ines).await?;
        self.delivery(ines).await
    }

    async fn hours(&self, ines: &mut Person) -> anyhow::Result<()> {
        let from = self.day(12)?;
        let tobit = self.person("Tobit A.").await?;
        let all_days = ["07:30-12:00, 12:45-16:30", "=", "=", "=", "=", "=", "="];
        send(
            ines,
            &format!("/crew/{tobit}/hours"),
            &week(from, all_days, "16:30-18:00"),
        )
        .await?;
        let group = self.person("Group 7B").await?;
        let lessons = ["", "10:00-11:30", "", "=", "10:00-11:30", "", ""];
        send(
            ines,
            &format!("/crew/{group}/hours"),
            &week(from, lessons, ""),
        )
        .await?;
        let course = self.ahead(4).to_string();
        let away = [
            ("what", "course"),
            ("from", course.as_str()),
            ("to", &course),
            ("from_time", "12:00"),
            ("to_time", "18:00"),
            ("name", "first aid, at the fire station"),
        ];
        ines.send(&format!("/crew/{tobit}/away/new"), &away).await?;
        for (what, first, last, name) in [
            ("closed", 20, 20, "Stocktaking"),
            ("out of term", 30, 37, "Break between terms"),
        ] {
            let (first, last) = (self.ahead(first).to_string(), self.ahead(last).to_string());
            let closed = [
                ("what", what),
                ("from", &first),
                ("to", &last),
                ("name", name),
            ];
            ines.send("/site/closed/new", &closed).await?;
        }
        let mut conn = self.app.db.read().await?;
        let rooms = register::store::rooms::all(&mut conn).await?;
        drop(conn);
        let classroom = rooms
            .iter()
            .find(|room| room.figures.name.as_str().starts_with("Class"));
        if let Some(room) = classroom {
            let path = format!("/rooms/{}/hours/write", room.id);
            let lessons = ["09:00-10:30", "=", "=", "=", "=", "", ""];
            send(ines, &path, &week(from, lessons, "")).await?;
        }
        Ok(())
    }

    async fn water(&self, ines: &mut Person) -> anyhow::Result<()> {
        let purified = [
            ("name", "Purified, tank behind North"),
            ("source", "purified"),
            ("tank", "1000"),
            ("least", "80"),
        ];
        let purified = ines.send("/water", &purified).await?;
        let rain = [
            ("name", "Rain, roof of South"),
            ("source", "rainwater"),
            ("rinses_only", "yes"),
            ("tank", "2000"),
            ("least", "200"),
        ];
        ines.send("/water", &rain).await?;
        let on = self.day(12)?.to_string();
        let test = [
            ("measured_on", on.as_str()),
            ("caught", "10"),
            ("minutes", "9"),
            ("seconds", "20"),
            ("water", "13"),
        ];
        ines.send(&format!("{purified}/tests"), &test).await?;
        ines.send(&format!("{purified}/levels"), &[("level", "860")])
            .await?;
        Ok(())
    }

    async fn kit(&self, ines: &mut Person) -> anyhow::Result<()> {
        for (name, kind, count, note) in [
            (
                "Pump on the trolley",
                "portable pump",
                "2",
                "store 2, on its hook",
            ),
            (
                "Risers, 90 mm",
                "riser set",
                "3",
                "one set is for all benches of a system",
            ),
        ] {
            let kit = [
                ("name", name),
                ("kind", kind),
                ("count", count),
                ("note", note),
            ];
            ines.send("/kit", &kit).await?;
        }
        let (from, to) = (self.day(10)?.to_string(), self.ahead(9).to_string());
        let broken = [
            ("count", "1"),
            ("from", from.as_str()),
            ("to", &to),
            ("name", "two seals are torn, new ones are ordered"),
        ];
        ines.send("/kit/2/out/new", &broken).await?;
        let needs = [
            ("kit", "1"),
            ("count", "1"),
            ("from", "dose"),
            ("to", "rinse"),
            ("kit", "2"),
            ("count", "1"),
            ("from", "dose"),
            ("to", "rinse"),
            ("stood", ""),
        ];
        ines.send("/methods/1/kit", &needs).await?;
        Ok(())
    }

    /// What is to come, how it is ordered, and what things cost.
    async fn delivery(&self, ines: &mut Person) -> anyhow::Result<()> {
        let (first, moved) = (self.ahead(5).to_string(), self.ahead(8).to_string());
        let delivery = [
            ("product", "1"),
            ("amount", "25"),
            ("expected_on", first.as_str()),
            ("note", "order 2214"),
        ];
        let page = ines.send("/stock/deliveries", &delivery).await?;
        let later = [
            ("expected_on", moved.as_str()),
            ("reason", "the carrier takes it on another day"),
            ("events", "1"),
        ];
        ines.send(&page, &later).await?;
        let ordering = [
            ("lead_days", "6"),
            ("sizes", "5; 25"),
            ("keeping_days", "365"),
            ("least", ""),
            ("why", "as the last three orders came"),
        ];
        ines.send("/stock/products/1/ordering", &ordering).await?;
        let prices = [
            ("currency", "EUR"),
            ("hour", "24.00"),
            ("strip", "0.40"),
            ("water", "6.50"),
            ("bench_week", "85.00"),
        ];
        ines.send("/site/prices", &prices).await?;
        Ok(())
    }
}

async fn send(
    by: &mut Person,
    path: &str,
    fields: &[(&'static str, String)],
) -> anyhow::Result<()> {
    let fields: Vec<(&str, &str)> = fields
        .iter()
        .map(|(name, value)| (*name, value.as_str()))
        .collect();
    by.send(path, &fields).await?;
    Ok(())
}
