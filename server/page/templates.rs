//! The HTML, laid out by the template engine, which escapes every text.

use std::sync::LazyLock;

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use minijinja::{Environment, UndefinedBehavior, Value, context};

use crate::asker::Here;
use crate::words;

/// The templates by name. Each ends in `html`, by which the engine knows how to escape.
const TEMPLATES: [(&str, &str); 13] = [
    ("frame.html", include_str!("html/frame.html")),
    ("today.html", include_str!("html/today.html")),
    ("kit.html", include_str!("html/kit.html")),
    ("place.html", include_str!("html/place.html")),
    ("piece.html", include_str!("html/piece.html")),
    ("wash.html", include_str!("html/wash.html")),
    ("weigh.html", include_str!("html/weigh.html")),
    ("check.html", include_str!("html/check.html")),
    ("log.html", include_str!("html/log.html")),
    ("entry.html", include_str!("html/entry.html")),
    ("pair.html", include_str!("html/pair.html")),
    ("changed.html", include_str!("html/changed.html")),
    ("refusal.html", include_str!("html/refusal.html")),
];

static ENGINE: LazyLock<Result<Environment<'static>, minijinja::Error>> = LazyLock::new(|| {
    let mut engine = Environment::new();
    engine.set_undefined_behavior(UndefinedBehavior::Strict);
    for (name, text) in TEMPLATES {
        engine.add_template(name, text)?;
    }
    Ok(engine)
});

/// A page that is laid out by a template; without knowing who asks it says nothing about them.
pub(crate) fn page(
    code: StatusCode,
    template: &str,
    here: Option<&Here>,
    title: &str,
    told: Value,
) -> Response {
    let here = here.map(|here| {
        context! {
            caller => here.caller.as_str(),
            role => words::role(here.role),
            place => here.place.as_str(),
            may_work => here.may_work(),
            read_only => here.read_only.as_str(),
        }
    });
    let all = context! { title, here, ..told };
    match laid_out(template, all) {
        Ok(text) => {
            let mut answer = (code, text).into_response();
            let html = HeaderValue::from_static("text/html; charset=utf-8");
            answer.headers_mut().insert(header::CONTENT_TYPE, html);
            answer
        }
        Err(error) => {
            tracing::error!(template, %error, "a page cannot be laid out");
            let text = "The page cannot be laid out. What was recorded stays recorded.";
            (StatusCode::INTERNAL_SERVER_ERROR, text).into_response()
        }
    }
}

fn laid_out(template: &str, all: Value) -> Result<String, String> {
    let engine = ENGINE.as_ref().map_err(ToString::to_string)?;
    let sheet = engine.get_template(template).map_err(|e| e.to_string())?;
    sheet.render(all).map_err(|error| error.to_string())
}
