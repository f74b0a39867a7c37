//! The HTML, laid out by the template engine, which escapes every text.

use std::sync::LazyLock;

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use fettlebook_contract::v1::Role;
use minijinja::{Environment, UndefinedBehavior, Value, context};

use crate::asker::Here;
use crate::words;

/// The templates by name. Each ends in `html`, by which the engine knows how to escape.
const TEMPLATES: [(&str, &str); 21] = [
    ("frame.html", include_str!("html/frame.html")),
    ("today.html", include_str!("html/today.html")),
    ("kit.html", include_str!("html/kit.html")),
    ("place.html", include_str!("html/place.html")),
    ("piece.html", include_str!("html/piece.html")),
    ("wash.html", include_str!("html/wash.html")),
    ("weigh.html", include_str!("html/weigh.html")),
    ("check.html", include_str!("html/check.html")),
    ("log.html", include_str!("html/log.html")),
    ("logs.html", include_str!("html/logs.html")),
    ("take.html", include_str!("html/take.html")),
    ("pack.html", include_str!("html/pack.html")),
    ("count.html", include_str!("html/count.html")),
    ("counted.html", include_str!("html/counted.html")),
    ("reorder.html", include_str!("html/reorder.html")),
    ("order.html", include_str!("html/order.html")),
    ("entries.html", include_str!("html/entries.html")),
    ("entry.html", include_str!("html/entry.html")),
    ("pair.html", include_str!("html/pair.html")),
    ("changed.html", include_str!("html/changed.html")),
    ("refusal.html", include_str!("html/refusal.html")),
];

/// The views that are named above each page, in the order of a day at the bench: where each is, what it is called,
/// and who has any use for it.
const VIEWS: [(&str, &str, Role); 10] = [
    ("/", "Today", Role::Look),
    ("/check", "Check", Role::Look),
    ("/take", "Take", Role::Look),
    ("/log", "Log", Role::Work),
    ("/wash", "Wash", Role::Look),
    ("/weigh", "Weigh", Role::Look),
    ("/count", "Count", Role::Work),
    ("/kit", "Kit", Role::Look),
    ("/reorder", "Reorder", Role::Keep),
    ("/entries", "Entries", Role::Look),
];

/// The view that a template belongs to; empty for none.
fn belongs_to(template: &str) -> &'static str {
    match template {
        "today.html" => "Today",
        "check.html" => "Check",
        "take.html" | "pack.html" => "Take",
        "logs.html" | "log.html" => "Log",
        "wash.html" => "Wash",
        "weigh.html" => "Weigh",
        "count.html" | "counted.html" => "Count",
        "kit.html" | "place.html" | "piece.html" => "Kit",
        "reorder.html" | "order.html" => "Reorder",
        "entries.html" | "entry.html" => "Entries",
        _ => "",
    }
}

/// The views for who may do so much, each with whether the page is that view, or belongs to it.
fn views(role: Role, template: &str, title: &str) -> Value {
    let own = belongs_to(template);
    let open = VIEWS.iter().filter(|(_, _, least)| role >= *least);
    let told = open.map(|(path, name, _)| {
        let current = match (*name == own, *name == title) {
            (true, true) => "page",
            (true, false) => "true",
            (false, _) => "",
        };
        context! { path => Value::from_safe_string((*path).to_owned()), name => *name, current }
    });
    told.collect()
}

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
    // Without knowing who asks, what anyone may look at.
    let views = views(here.map_or(Role::Look, |here| here.role), template, title);
    let here = here.map(|here| {
        context! {
            caller => here.caller.as_str(),
            role => words::role(here.role),
            place => here.place.as_str(),
            may_work => here.may_work(),
            may_keep => here.may_keep(),
            read_only => here.read_only.as_str(),
        }
    });
    let all = context! { title, here, views, ..told };
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
