//! An order: what is still to come of it, and telling that it was sent, that it came, or that no more will.

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{
    CloseOrderRequest, DeliveryLine, GetOrderRequest, Order, OrderState, PlaceOrderRequest,
    ReceiveOrderRequest,
};
use fettlebook_quantity::parse_count;
use minijinja::{Value, context};

use super::{Answer, to_entry};
use crate::asker::{Asker, Here};
use crate::form::{Fields, Form};
use crate::{changed, refusal, request, templates, words};

/// What stands before the make in the name of the field for the packs that came.
const CAME: &str = "came.";

/// The view.
pub(crate) async fn show(asker: Asker, Path(order): Path<String>) -> Answer {
    let here = asker.here().await?;
    let order = asker
        .call(GetOrderRequest { order })
        .await?
        .order
        .unwrap_or_default();
    Ok(form(&here, &order, &Fields::default(), ""))
}

/// The forms, with what was typed into them and what is wrong with that.
fn form(here: &Here, order: &Order, sent: &Fields, wrong: &str) -> axum::response::Response {
    let lines = order.lines.iter().map(|line| {
        let to_come = line
            .pack_count
            .saturating_sub(line.received_pack_count)
            .max(0);
        let typed = sent.first(&format!("{CAME}{}", line.make)).to_owned();
        context! {
            make => line.make.as_str(),
            packs => line.pack_count,
            in_pack => line.pieces_per_pack,
            price => words::money(line.price.as_ref()),
            to_come,
            typed => if typed.is_empty() { to_come.to_string() } else { typed },
        }
    });
    let state = order.state();
    let told = context! {
        order => order.order.as_str(),
        supplier => order.supplier.as_str(),
        state => words::order(state),
        due => words::day(&order.due_date),
        total => words::money(order.total.as_ref()),
        note => order.note.as_str(),
        lines => lines.collect::<Value>(),
        drafted => state == OrderState::Drafted,
        open => matches!(state, OrderState::Placed | OrderState::PartReceived),
        may_keep => here.may_keep(),
        goes_to => if here.place.is_empty() { "bench" } else { here.place.as_str() },
        wrong,
        sent_id => request::fresh(),
        came_id => request::fresh(),
        closed_id => request::fresh(),
        seen => here.head_seq,
    };
    let code = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let title = format!("Order {}", order.order);
    templates::page(code, "order.html", Some(here), &title, told)
}

/// Records that it was sent, that it came, or that no more will.
pub(crate) async fn record(asker: Asker, Path(order): Path<String>, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let asked = GetOrderRequest {
        order: order.clone(),
    };
    let held = asker.call(asked).await?.order.unwrap_or_default();
    let last = vec![(held.order.clone(), held.last_seq)];
    let action = format!("/order/{}", held.order);
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, &action).await? {
        return Ok(asks);
    }
    let request_id = sent.first("request_id").to_owned();
    let entry = match sent.first("what") {
        "sent" => {
            let placed = PlaceOrderRequest {
                request_id,
                order,
                ..PlaceOrderRequest::default()
            };
            asker.call(placed).await?.entry
        }
        "closed" => {
            let closed = CloseOrderRequest {
                request_id,
                order,
                ..CloseOrderRequest::default()
            };
            asker.call(closed).await?.entry
        }
        "came" => {
            let lines = match came(&sent) {
                Ok(lines) => lines,
                Err(wrong) => return Ok(form(&here, &held, &sent, &wrong)),
            };
            let received = ReceiveOrderRequest {
                request_id,
                order,
                lines,
                place: here.place.clone(),
                ..ReceiveOrderRequest::default()
            };
            asker.call(received).await?.entry
        }
        _ => {
            let text = "The form does not say what became of the order, so nothing was recorded.";
            return Err(refusal::not_understood(text).into());
        }
    };
    Ok(to_entry(entry))
}

/// The packs that came, by make.
fn came(sent: &Fields) -> Result<Vec<DeliveryLine>, String> {
    let mut lines = Vec::new();
    for (make, typed) in sent.behind(CAME).filter(|(_, typed)| !typed.is_empty()) {
        let packs = parse_count(typed);
        let packs = packs.map_err(|error| words::wrong(make, &error.to_string()))?;
        if packs.get() > 0 {
            lines.push(DeliveryLine {
                make: make.to_owned(),
                pack_count: packs.get(),
                ..DeliveryLine::default()
            });
        }
    }
    if lines.is_empty() {
        return Err("Nothing came, by these figures, so nothing was recorded.".to_owned());
    }
    Ok(lines)
}
