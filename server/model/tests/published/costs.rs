//! Stock value, rounding and quotes: exact decimals, compared as they are written.

use crate::maths::cost::layers::FifoLayers;
use crate::maths::cost::quote::TaxSum;
use crate::maths::cost::{
    CostTerm, MovingAverage, Pricing, Quote, Receipt, TaxedNet, allocate, head_cost, quantise,
    total_up,
};
use rust_decimal::Decimal;
use serde_json::{Map, Value, json};

use super::case::Figures;

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "inventory_costing" if inputs["method"] == "fifo" => fifo(inputs),
        "inventory_costing" => moving_average(inputs),
        "rounding" => rounding(inputs),
        "quote" if inputs["margin"].is_string() => margin(inputs),
        "quote" if inputs["document_charges"].is_array() => rates(inputs),
        "quote" if inputs["lines"].is_array() => lines(inputs),
        "quote" if inputs["nets"].is_array() => bases(inputs),
        "quote" if inputs["total_minor_units"].is_number() => shares(inputs),
        "quote" => whole_quote(inputs),
        _ => return None,
    };
    Some(figures)
}

fn decimal(value: &Value) -> Decimal {
    value.as_str().unwrap().parse().unwrap()
}

fn rows(value: &Value) -> Vec<Vec<Decimal>> {
    let rows = value.as_array().unwrap().iter();
    rows.map(|row| row.as_array().unwrap().iter().map(decimal).collect())
        .collect()
}

/// As the case writes it: rounded to so many decimals.
fn written(amount: Decimal, places: u32) -> String {
    let rounded = quantise(amount, places).unwrap();
    rounded.to_string()
}

/// The receipt of a move in, or the quantity of a move out.
enum Move {
    In(Receipt),
    Out(Decimal),
}

fn moves(inputs: &Value) -> Vec<Move> {
    let moves = inputs["moves"].as_array().unwrap().iter();
    moves
        .map(|step| {
            let quantity = decimal(&step[1]);
            if step[0] == "out" {
                return Move::Out(quantity);
            }
            let cost = decimal(&step[2]);
            let of_unit = inputs["in_cost_is"] == "unit";
            Move::In(Receipt {
                quantity,
                total_cost: if of_unit { cost * quantity } else { cost },
            })
        })
        .collect()
}

fn value_in(moves: &[Move]) -> Decimal {
    let costs = moves.iter().map(|step| match step {
        Move::In(receipt) => receipt.total_cost,
        Move::Out(_) => Decimal::ZERO,
    });
    costs.sum()
}

fn fifo(inputs: &Value) -> Figures {
    let moves = moves(inputs);
    let (mut layers, mut issues) = (FifoLayers::default(), Vec::new());
    let mut cost_out = Decimal::ZERO;
    for step in &moves {
        match step {
            Move::In(receipt) => layers.receive(*receipt).unwrap(),
            Move::Out(quantity) => {
                let cost = layers.issue(*quantity).unwrap();
                cost_out += cost;
                issues.push(written(cost, 2));
            }
        }
    }
    let came = value_in(&moves);
    costing(&issues, came - cost_out, &[], came)
}

fn moving_average(inputs: &Value) -> Figures {
    let moves = moves(inputs);
    let (mut stock, mut issues, mut averages) = (MovingAverage::default(), vec![], vec![]);
    for step in &moves {
        match step {
            Move::In(receipt) => {
                stock.receive(*receipt).unwrap();
                let of_one = stock.at_average(Decimal::ONE).unwrap();
                averages.push(head_cost(&[of_one], 6).unwrap().to_string());
            }
            Move::Out(quantity) => issues.push(written(stock.issue(*quantity).unwrap(), 2)),
        }
    }
    let all = stock.at_average(stock.quantity());
    let left = head_cost(all.as_slice(), 2).unwrap();
    costing(&issues, left, &averages, value_in(&moves))
}

fn costing(issues: &[String], left: Decimal, averages: &[String], came: Decimal) -> Figures {
    Figures::default()
        .told("cost_of_each_issue", json!(issues))
        .told("value_left", json!(written(left, 2)))
        .told("average_after_each_receipt", json!(averages))
        .told("value_in", json!(written(came, 2)))
}

fn rounding(inputs: &Value) -> Figures {
    let rows = inputs["rows"].as_array().unwrap().iter();
    let results: Vec<String> = rows
        .map(|row| {
            let places = decimal(&row[3]).scale();
            quantise(decimal(&row[2]), places).unwrap().to_string()
        })
        .collect();
    Figures::default().told("results", json!(results))
}

fn margin(inputs: &Value) -> Figures {
    let margin = decimal(&inputs["margin"]);
    let price = Pricing::Margin(margin).price(decimal(&inputs["cost"]), 2);
    // A quote names the one of markup and margin that was asked for.
    Figures::default()
        .told("price", json!(price.unwrap()))
        .without(["markup"])
}

fn taxed(net: Decimal, tax_percent: Decimal) -> TaxedNet {
    TaxedNet { net, tax_percent }
}

fn priced(quantity: Decimal, price: Decimal, base: Decimal) -> CostTerm {
    CostTerm {
        quantity,
        price,
        base,
    }
}

fn sums(quote: &Quote) -> Figures {
    Figures::default()
        .told("net", json!(quote.net))
        .told("tax", json!(quote.tax))
        .told("gross", json!(quote.gross))
}

fn rates(inputs: &Value) -> Figures {
    let charges = rows(&inputs["document_charges"]);
    let nets: Vec<TaxedNet> = rows(&inputs["lines"])
        .iter()
        .chain(&charges)
        .map(|row| taxed(row[0], row[1]))
        .collect();
    let quote = total_up(&nets, 2).unwrap();
    let by_rate = |figure: &dyn Fn(&TaxSum) -> Decimal| -> Value {
        let sums = quote.by_rate.iter();
        let named = sums.map(|sum| (sum.tax_percent.to_string(), json!(figure(sum))));
        Value::Object(named.collect::<Map<_, _>>())
    };
    Figures::default()
        .told("taxable", by_rate(&|sum| sum.taxable))
        .told("tax", by_rate(&|sum| sum.tax))
        .told("net", json!(quote.net))
        .told("gross", json!(quote.gross))
}

fn lines(inputs: &Value) -> Figures {
    let lines = rows(&inputs["lines"]);
    let nets = lines
        .iter()
        .map(|row| head_cost(&[priced(row[0], row[1], row[2])], 2).unwrap());
    let nets: Vec<Decimal> = nets.collect();
    let rate = decimal(&inputs["vat"]);
    let all: Vec<TaxedNet> = nets.iter().map(|net| taxed(*net, rate)).collect();
    sums(&total_up(&all, 2).unwrap()).told("line_net", json!(nets))
}

fn bases(inputs: &Value) -> Figures {
    let rate = decimal(&inputs["rate_percent"]);
    let nets = inputs["nets"].as_array().unwrap().iter();
    let nets: Vec<TaxedNet> = nets.map(|net| taxed(decimal(net), rate)).collect();
    // Tax is reckoned on the summed net alone.
    Figures::default()
        .told("tax_invoice_basis", json!(total_up(&nets, 2).unwrap().tax))
        .without(["tax_item_basis"])
}

fn whole_quote(inputs: &Value) -> Figures {
    let materials = rows(&inputs["materials_qty_unitcost"]);
    let materials: Vec<CostTerm> = materials
        .iter()
        .map(|row| CostTerm::at_unit_price(row[0], row[1]))
        .collect();
    let wear: Vec<CostTerm> = rows(&inputs["wear_cost_scrap_life_used"])
        .iter()
        .map(|row| CostTerm::wear(row[0], row[1], row[3], row[2]).unwrap())
        .collect();
    let numbers = |name: &str| -> Vec<Decimal> {
        inputs[name]
            .as_array()
            .unwrap()
            .iter()
            .map(decimal)
            .collect()
    };
    let wash = numbers("wash_towels_loadcost_capacity");
    let labour = numbers("labour_hours_rate");
    let cost = head_cost(&materials, 2).unwrap()
        + head_cost(&wear, 2).unwrap()
        + head_cost(&[CostTerm::wash(wash[0], wash[1], wash[2]).unwrap()], 2).unwrap()
        + head_cost(&[CostTerm::at_unit_price(labour[0], labour[1])], 2).unwrap();
    let share = decimal(&inputs["percent"]);
    let pricing = match inputs["price_mode"].as_str().unwrap() {
        "margin" => Pricing::Margin(share),
        "markup" => Pricing::Markup(share),
        other => panic!("{other}"),
    };
    let price = pricing.price(cost, 2).unwrap();
    let net = taxed(price, decimal(&inputs["vat_percent"]));
    let quote = total_up(&[net], 2).unwrap();
    Figures::default()
        .told("cost", json!(cost))
        .told("price_net", json!(quote.net))
        .told("tax", json!(quote.tax))
        .told("price_gross", json!(quote.gross))
}

fn shares(inputs: &Value) -> Figures {
    let weights = inputs["weights"].as_array().unwrap().iter();
    let weights: Vec<Decimal> = weights
        .map(|weight| weight.as_i64().unwrap().into())
        .collect();
    let total = Decimal::new(inputs["total_minor_units"].as_i64().unwrap(), 2);
    let shares = allocate(total, &weights, 2).unwrap();
    let coins: Vec<i128> = shares.iter().map(Decimal::mantissa).collect();
    Figures::default().told(
        "shares",
        json!(
            coins
                .iter()
                .map(|coins| i64::try_from(*coins).unwrap())
                .collect::<Vec<_>>()
        ),
    )
}
