//! `make`: what can be bought, with its figures.
//!
//! It serves setting up. Every piece of kit is received against a make.

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetMakeRequest, ListMakesRequest, ListMakesResponse};

use crate::commands::common::ListForm;
use crate::commands::noun::{listed, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, make};

pub(crate) mod add;
pub(crate) mod edit;

/// What can be done with makes.
#[derive(Debug, Subcommand)]
pub(crate) enum MakeCommand {
    /// Set up a make
    #[command(subcommand)]
    Add(Box<add::Add>),
    /// List the makes
    List(List),
    /// Show one make with every figure
    Show(Show),
    /// Change figures of a make
    Edit(Box<edit::Edit>),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &MakeCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        MakeCommand::Add(args) => add::perform(session, args, printer).await,
        MakeCommand::List(args) => list(session, args, printer).await,
        MakeCommand::Show(args) => show(session, args, printer).await,
        MakeCommand::Edit(args) => edit::perform(session, args, printer).await,
    }
}

/// What `make list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the makes.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListMakesRequest::default();
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.makes.as_slice(),
        make::list,
    )
    .await
}

/// Every make.
///
/// # Errors
/// What the service refused.
pub(crate) async fn all(session: &Session) -> Result<ListMakesResponse, Fault> {
    page::every(session, ListMakesRequest::default()).await
}

/// What `make show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the make
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
}

/// Shows the make.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetMakeRequest {
        make: args.make.clone(),
    };
    let answer = session.call(asked).await?;
    shown(
        printer,
        &answer,
        answer.make.as_ref(),
        "the make",
        make::show,
    )
}
