//! A site to tell a story on: a fresh database, a clock that stands, and people who are signed in.

use std::net::SocketAddr;
use std::path::PathBuf;

use axum::Router;
use axum::body::Body;
use axum::http::{Method, Request, StatusCode, header};
use http_body_util::BodyExt;
use slackwater::clock::{Clock, Moment};
use slackwater::config::Config;
use slackwater::crew::store::{NewPerson, NewSkill};
use slackwater::crew::{self, AgeBand, Kind, Role, SkillKind, session};
use slackwater::db::Db;
use slackwater::ids::PersonId;
use slackwater::science::units::Units;
use slackwater::site::{self, store::NewSite};
use slackwater::state::App;
use slackwater::text::Name;
use slackwater::web::Device;
use slackwater::{logbook, methods, routes};
use tower::ServiceExt;

/// A folder that goes when the story ends.
struct Folder(PathBuf);

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

pub struct Garden {
    pub app: App,
    router: Router,
    _folder: Folder,
}

/// Somebody signed in, asking pages and sending forms.
#[derive(Clone)]
pub struct Person {
    pub id: PersonId,
    router: Router,
    cookie: String,
}

/// What came back.
pub struct Answer {
    pub status: StatusCode,
    pub location: String,
    pub text: String,
    pub headers: axum::http::HeaderMap,
}

pub const NOW: &str = "2027-03-04T08:30:00Z";

impl Garden {
    /// An empty register: no site, nobody.
    pub async fn empty() -> Self {
        static COUNT: std::sync::atomic::AtomicU32 = std::sync::atomic::AtomicU32::new(0);
        let count = COUNT.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        let folder =
            std::env::temp_dir().join(format!("slackwater-story-{}-{count}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let listen: SocketAddr = "127.0.0.1:0".parse().unwrap();
        let config = Config {
            data: folder.clone(),
            listen,
            https: false,
        };
        let db = Db::open(&config.database()).await.unwrap();
        let now: Moment = NOW.parse().unwrap();
        let app = App::new(db, Clock::fixed(now), config);
        let router = routes::router(app.clone());
        Self {
            app,
            router,
            _folder: Folder(folder),
        }
    }

    /// A site in metric units under the EU rule set, at half past eight on 4 March 2027, nobody yet.
    pub async fn site() -> Self {
        let garden = Self::empty().await;
        let now = garden.app.clock.now();
        let mut tx = garden.app.db.write().await.unwrap();
        let new = NewSite {
            name: Name::parse("Orrelby Glasshouses").unwrap(),
            zone: chrono_tz::Europe::London,
            units: Units::Metric,
            rule_set: "eu".to_owned(),
            address: None,
        };
        site::store::insert(&mut tx, &new, now).await.unwrap();
        tx.commit().await.unwrap();
        garden
    }

    /// Changes rows that no page of the story changes.
    pub async fn change(&self, sql: &'static str) {
        let mut tx = self.app.db.write().await.unwrap();
        sqlx::query(sql).execute(tx.conn()).await.unwrap();
        tx.commit().await.unwrap();
    }

    /// The methods that come with the server.
    pub async fn with_the_builtin_methods(&self) {
        let mut tx = self.app.db.write().await.unwrap();
        let (server, now) = (logbook::Author::server(), self.app.clock.now());
        methods::builtin::install(&mut tx, &server, now)
            .await
            .unwrap();
        tx.commit().await.unwrap();
    }

    /// Adds an adult with this role and all skills, signed in.
    pub async fn sign_in(&self, name: &str, role: Role) -> Person {
        self.sign_in_with(
            name,
            role,
            AgeBand::Adult,
            &[
                SkillKind::Concentrate,
                SkillKind::Electrics,
                SkillKind::Release,
            ],
        )
        .await
    }

    pub async fn sign_in_with(
        &self,
        name: &str,
        role: Role,
        age_band: AgeBand,
        skills: &[SkillKind],
    ) -> Person {
        let now = self.app.clock.now();
        let mut tx = self.app.db.write().await.unwrap();
        let new = NewPerson {
            name: Name::parse(name).unwrap(),
            kind: Kind::Person,
            head_count: 1,
            role,
            age_band,
            sign_in: Some(name.to_lowercase().replace([' ', '.'], "")),
            password_hash: Some(
                "not a hash: nobody signs in with a password in a story unless it is about that"
                    .to_owned(),
            ),
        };
        let id = crew::store::insert(&mut tx, &new, now).await.unwrap();
        for kind in skills {
            let skill = NewSkill {
                person_id: id,
                kind: *kind,
                granted_on: "2027-01-04".parse().unwrap(),
                expires_on: None,
                evidence: "course of January".to_owned(),
                granted_by: None,
            };
            crew::store::insert_skill(&mut tx, &skill).await.unwrap();
        }
        let cookie = session::begin(&mut tx, id, Device::Computer, now, false)
            .await
            .unwrap();
        tx.commit().await.unwrap();
        let cookie = format!("{}={}", cookie.name(), cookie.value());
        Person {
            id,
            router: self.router.clone(),
            cookie,
        }
    }

    /// The same person at a server that was started anew on the same records.
    pub fn started_anew(&self, person: &Person) -> Person {
        let (db, clock) = (self.app.db.clone(), self.app.clock.clone());
        let app = App::new(db, clock, Config::clone(&self.app.config));
        Person {
            router: routes::router(app),
            ..person.clone()
        }
    }

    /// Somebody without a session.
    pub fn stranger(&self) -> Person {
        Person {
            id: PersonId::from_row(0),
            router: self.router.clone(),
            cookie: String::new(),
        }
    }

    /// Whoever was signed in by this answer.
    pub fn with_cookie_of(&self, answer: &Answer) -> Person {
        let cookie = answer.headers.get("set-cookie").unwrap().to_str().unwrap();
        Person {
            cookie: cookie.split(';').next().unwrap().to_owned(),
            ..self.stranger()
        }
    }

    /// Whoever holds the cookie of this name that came with an answer.
    pub fn with_named_cookie(&self, answer: &Answer, name: &str) -> Person {
        let cookie = answer
            .headers
            .get_all("set-cookie")
            .iter()
            .filter_map(|cookie| cookie.to_str().ok()?.split(';').next())
            .find(|cookie| cookie.starts_with(&format!("{name}=")));
        Person {
            cookie: cookie.unwrap().to_owned(),
            ..self.stranger()
        }
    }

    /// Gives somebody this password, without a page and without ending a session.
    pub async fn set_password(&self, id: PersonId, password: &str) {
        let hash = crew::password::hashed(password.to_owned()).await.unwrap();
        let mut tx = self.app.db.write().await.unwrap();
        sqlx::query("update person set password_hash = ?2 where id = ?1")
            .bind(id)
            .bind(hash)
            .execute(tx.conn())
            .await
            .unwrap();
        tx.commit().await.unwrap();
    }

    /// The detail of the newest entry that says this.
    pub async fn logbook_detail(&self, what: &str) -> serde_json::Value {
        let mut conn = self.app.db.read().await.unwrap();
        let all = logbook::store::page(&mut conn, &Default::default(), 1000)
            .await
            .unwrap();
        let entry = all.iter().find(|entry| entry.what == what).unwrap();
        serde_json::from_str(&entry.detail).unwrap()
    }

    pub async fn logbook_length(&self) -> usize {
        let mut conn = self.app.db.read().await.unwrap();
        logbook::store::page(&mut conn, &Default::default(), 10_000)
            .await
            .unwrap()
            .len()
    }

    /// The chain of the logbook holds.
    pub async fn logbook_is_whole(&self) {
        let mut conn = self.app.db.read().await.unwrap();
        let chain = logbook::store::check(&mut conn).await.unwrap();
        assert!(matches!(chain, logbook::Chain::Whole { .. }), "{chain:?}");
    }

    /// How often the logbook says this of anything.
    pub async fn logbook_says(&self, what: &str) -> usize {
        let mut conn = self.app.db.read().await.unwrap();
        let all = logbook::store::page(&mut conn, &Default::default(), 1000)
            .await
            .unwrap();
        all.iter().filter(|entry| entry.what == what).count()
    }
}

impl Person {
    pub async fn get(&self, path: &str) -> Answer {
        self.ask(Method::GET, path, "", &[]).await
    }

    /// Sends a form as a browser on the same page would.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body = serde_html_form::to_string(fields).unwrap();
        self.ask(
            Method::POST,
            path,
            &body,
            &[("sec-fetch-site", "same-origin")],
        )
        .await
    }

    pub async fn ask(
        &self,
        method: Method,
        path: &str,
        body: &str,
        headers: &[(&str, &str)],
    ) -> Answer {
        let mut request = Request::builder()
            .method(method.clone())
            .uri(path)
            .header(header::HOST, "localhost");
        if !self.cookie.is_empty() {
            request = request.header(header::COOKIE, &self.cookie);
        }
        let typed = headers.iter().any(|(name, _)| *name == "content-type");
        if method == Method::POST && !typed {
            request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let response = self
            .router
            .clone()
            .oneshot(request.body(Body::from(body.to_owned())).unwrap())
            .await
            .unwrap();
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.unwrap().to_bytes();
        let location = parts
            .headers
            .get(header::LOCATION)
            .map(|value| value.to_str().unwrap().to_owned());
        Answer {
            status: parts.status,
            location: location.unwrap_or_default(),
            text: String::from_utf8_lossy(&bytes).into_owned(),
            headers: parts.headers,
        }
    }
}

impl Answer {
    /// It is a page, and these words stand on it.
    #[track_caller]
    pub fn shows(&self, words: &[&str]) -> &Self {
        assert_eq!(self.status, StatusCode::OK, "{}", self.text);
        self.says(words)
    }

    #[track_caller]
    pub fn says(&self, words: &[&str]) -> &Self {
        // A no-break space reads as a space.
        let text = self
            .text
            .replace("&nbsp;", " ")
            .replace(['\u{a0}', '\u{202f}'], " ");
        for word in words {
            assert!(text.contains(word), "'{word}' is not on the page:\n{text}");
        }
        self
    }

    #[track_caller]
    pub fn does_not_say(&self, words: &[&str]) -> &Self {
        for word in words {
            assert!(
                !self.text.contains(word),
                "'{word}' is on the page:\n{}",
                self.text
            );
        }
        self
    }

    /// The form came back with a message at this field.
    #[track_caller]
    pub fn refused(&self, field: &str, message: &str) -> &Self {
        assert_eq!(
            self.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{} {}",
            self.location,
            self.text
        );
        assert!(
            self.text.contains(&format!("href=\"#{field}\"")),
            "no complaint about '{field}':\n{}",
            self.text
        );
        self.says(&[message])
    }

    /// It was done, and the reader is sent on. Returns where to.
    #[track_caller]
    pub fn sent_on(&self) -> String {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text);
        self.location.clone()
    }
}
