//! From the options of `log`, or a file, to the message the service takes.
//!
//! It serves `log`. What was typed is put into its place and nothing is worked out from it.

use fettlebook_contract::v1::{BottleUse, BundleUse, LogUseRequest, LooseUse, SundryUse};

use super::Log;
use crate::commands::common::read_from;
use crate::commands::count::unit_of;
use crate::connect::Session;
use crate::fault::Fault;
use crate::json::from_json;
use crate::options::Towels;
use crate::request;

/// The message.
///
/// # Errors
/// When a moment or the file is not understood, or a sundry is kept in another unit.
pub(crate) async fn request(session: &Session, args: &Log) -> Result<LogUseRequest, Fault> {
    if let Some(path) = &args.from {
        return from_file(path, args.job.as_deref());
    }
    let (dropped, bundles) = towels(&args.towels);
    let mut message = LogUseRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        job: args.job.clone().unwrap_or_default(),
        left_out_panels: args.panels.clone(),
        swaps: args.swap.clone(),
        dropped_towel_count: dropped,
        bundles,
        weighings: args.weigh.clone(),
        bottles: args
            .used
            .iter()
            .map(|(bottle, amount)| BottleUse {
                bottle: bottle.clone(),
                amount: Some(*amount),
            })
            .collect(),
        sundries: sundries(session, args).await?,
        ..LogUseRequest::default()
    };
    match &args.loose {
        None => message.pads.clone_from(&args.pad),
        Some(step) => {
            message.loose = Some(LooseUse {
                step: Some(step.clone()),
                machine: args.machine.clone().unwrap_or_default(),
                plate: args.plate.clone().unwrap_or_default(),
                section_count: args.sections.unwrap_or_default(),
                pads: args.pad.clone(),
            });
        }
    }
    Ok(message)
}

fn from_file(path: &str, job: Option<&str>) -> Result<LogUseRequest, Fault> {
    let mut message: LogUseRequest = from_json(&read_from(path)?)?;
    match job {
        Some(job) if message.job.is_empty() && message.loose.is_none() => {
            job.clone_into(&mut message.job);
        }
        Some(job) if message.job != job => {
            return Err(Fault::usage(
                "--from",
                format!("{path} is not about the job {job}; leave the job or the file out."),
            ));
        }
        Some(_) | None => {}
    }
    if message.request_id.is_empty() {
        message.request_id = request::new_id();
    }
    Ok(message)
}

fn towels(given: &[Towels]) -> (i64, Vec<BundleUse>) {
    let mut dropped = 0_i64;
    let mut bundles = Vec::new();
    for towels in given {
        match towels {
            Towels::Dropped(count) => dropped = dropped.saturating_add(*count),
            Towels::Used { bundle, count } => bundles.push(BundleUse {
                bundle: bundle.clone(),
                used_count: *count,
            }),
        }
    }
    (dropped, bundles)
}

async fn sundries(session: &Session, args: &Log) -> Result<Vec<SundryUse>, Fault> {
    let mut uses = Vec::new();
    for (tag, stock) in &args.sundry {
        let unit = unit_of(session, tag, "--sundry").await?;
        uses.push(SundryUse {
            tag: tag.clone(),
            quantity: stock.in_unit(unit, "--sundry", tag)?,
        });
    }
    Ok(uses)
}
