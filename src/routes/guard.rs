//! Who is let through to a handler: somebody signed in, a shared tablet, a program with a token, a
//! visitor where the site lets visitors in.

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::Method;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;

use super::{LARGEST_FORM, Least, anybody};
use crate::crew::tablet::Tablet;
use crate::crew::{Role, session, tablet, token};
use crate::state::App;
use crate::web::{AppError, Visiting};
use crate::{first_run, site};

/// Lets a request through to its handler when whoever asks may ask it.
pub async fn guard(
    State((app, path, least)): State<(App, &'static str, Least)>,
    jar: CookieJar,
    request: Request,
    next: Next,
) -> Response {
    if least == Least::Anyone {
        return next.run(request).await;
    }
    let let_in = match token::carried(request.headers()) {
        Some(carried) => with_token(&app, path, least, &carried, request).await,
        None => let_in(&app, least, &jar, request).await,
    };
    match let_in {
        Ok(request) => next.run(request).await,
        Err(error) => {
            if matches!(error, AppError::Forbidden(_) | AppError::TokenRefused) {
                tracing::warn!(path, %error, "a request was kept out");
            }
            error.into_response()
        }
    }
}

/// A program with a token: it reads what its person reads, and writes where it was made to. It is
/// nobody's own and signs no step.
async fn with_token(
    app: &App,
    path: &str,
    least: Least,
    carried: &str,
    mut request: Request,
) -> Result<Request, AppError> {
    let Some((who, writes_in)) = token::who(app, carried).await? else {
        return Err(AppError::TokenRefused);
    };
    let reads = request.method() == Method::GET;
    let against = match least {
        Least::Signed(role) => token::against(&who, &writes_in, role, reads, path),
        Least::Visitor | Least::Anyone => {
            token::against(&who, &writes_in, Role::Viewer, reads, path)
        }
        Least::Step => token::against(&who, &[], Role::Hand, reads, ""),
        Least::Own => Some("This is for people, not for programs.".to_owned()),
    };
    if let Some(why) = against {
        return Err(AppError::Forbidden(why));
    }
    request.extensions_mut().insert(who);
    Ok(request)
}

/// The request with whoever asks it, or why it is kept out.
async fn let_in(
    app: &App,
    least: Least,
    jar: &CookieJar,
    mut request: Request,
) -> Result<Request, AppError> {
    let role = match least {
        Least::Signed(role) => role,
        Least::Step => Role::Hand,
        Least::Own | Least::Visitor | Least::Anyone => Role::Viewer,
    };
    let signed_in = session::who(app, jar).await?;
    if let Some(mut who) = signed_in {
        if !who.is_at_least(role) {
            return Err(AppError::Forbidden(format!(
                "You are signed in as {}; this is for a {role}.",
                who.role
            )));
        }
        who.guide = first_run::guide::of(app, &who, request.uri().path()).await?;
        request.extensions_mut().insert(who);
        return Ok(request);
    }
    if let Some(tablet) = tablet::of(app, jar).await? {
        return at_tablet(app, least, &tablet, request).await;
    }
    if least == Least::Visitor
        && let Some(visitor) = visitor(app).await?
    {
        if let Err(wait) = app.visits.take(Visiting::of(&request), app.clock.now()) {
            let wait_s = wait.num_seconds();
            return Err(AppError::TooManyPages { wait_s });
        }
        request.extensions_mut().insert(visitor);
        return Ok(request);
    }
    let next = if request.method() == Method::GET {
        request.uri().path()
    } else {
        "/"
    };
    Err(sign_in_first(app, next.to_owned()).await)
}

/// A shared tablet reads what any viewer reads. What it sends is let through for a step alone, as from
/// whoever signed it; where nobody did, the step says so.
async fn at_tablet(
    app: &App,
    least: Least,
    tablet: &Tablet,
    request: Request,
) -> Result<Request, AppError> {
    let reads = request.method() == Method::GET;
    let open = match least {
        Least::Step => true,
        Least::Signed(Role::Viewer) | Least::Visitor => reads,
        Least::Signed(_) | Least::Own | Least::Anyone => false,
    };
    if !open {
        let why = format!(
            "This is {}, a shared tablet. It reads, and carries out runs; for the rest sign in with your password.",
            tablet.name
        );
        return Err(AppError::Forbidden(why));
    }
    let (who, mut request) = if reads {
        (tablet.reader(app).await, request)
    } else {
        let (parts, body) = request.into_parts();
        let body = to_bytes(body, LARGEST_FORM)
            .await
            .map_err(|_| AppError::Unreadable("it is longer than any form of a run".to_owned()))?;
        let who = tablet.signer(app, tablet::Typed::of(&body)).await;
        (who, Request::from_parts(parts, Body::from(body)))
    };
    match who? {
        Some(who) => {
            request.extensions_mut().insert(who);
            Ok(request)
        }
        None => Err(sign_in_first(app, "/".to_owned()).await),
    }
}

/// A visitor, where the site lets visitors in.
async fn visitor(app: &App) -> anyhow::Result<Option<site::Visitor>> {
    let mut conn = app.db.read().await?;
    let site = site::store::current(&mut conn).await?;
    Ok(site
        .filter(|site| site.calculators_open)
        .map(|site| site::Visitor {
            units: site.units,
            choices: site.sources.choices(),
        }))
}

async fn sign_in_first(app: &App, next: String) -> AppError {
    match anybody(app).await {
        Ok(true) => AppError::SignInFirst { next },
        Ok(false) => AppError::NobodyYet,
        Err(error) => AppError::Db(error),
    }
}
