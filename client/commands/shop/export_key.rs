//! `shop export-key`: what a script needs to call the shop, in two files.
//!
//! The script is a device with a name and a role of its own, so that what it reports stands under its name
//! and it can be shut out alone. Both files are made before the code is, and go again if it comes to nothing.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::v1::{InviteDeviceRequest, Role};
use serde_json::json;

use crate::commands::shop::pair;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::render::{Form, Printer, shop as words};
use crate::shop::folder::Paired;
use crate::shop::trust::OWN_NAME;
use crate::shop::{code, role, role_word};

/// What `shop export-key` takes.
#[derive(Args, Debug)]
pub(crate) struct ExportKey {
    /// Name for the script, as on what it reports
    #[arg(long = "for", value_name = "NAME", value_parser = ids::id)]
    pub(crate) name: String,
    /// What the script may do: look, work, keep or own; without it look
    #[arg(long, value_name = "ROLE", value_parser = role)]
    pub(crate) role: Option<Role>,
    /// Folder for NAME.pem and NAME.token; without it this one
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub(crate) to: PathBuf,
    /// Where the script reaches the shop; without it the address of its machine
    #[arg(long, value_name = "HOST:PORT")]
    pub(crate) at: Option<String>,
}

/// Pairs a script and writes what it needs.
pub(crate) async fn perform(
    session: &Session,
    args: &ExportKey,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    super::is_shared(session)?;
    let role = args.role.unwrap_or(Role::Look);
    let files = Files::begin(&args.to, &args.name)?;
    let asked = InviteDeviceRequest {
        name: args.name.clone(),
        role: role.into(),
        address: pair::looked_up(args.at.as_deref()).await?,
        again: false,
    };
    let invited = session.call(asked).await?;
    let given = code::given(&invited.code).map_err(|_| Fault::answer("the code"))?;
    let paired = pair::ask(&given).await?.for_a_script();
    let (certificate, token) = files.keep(&paired)?;
    match printer.form() {
        Form::Json => printer.document(&json!({
            "name": paired.device,
            "role": role_word(role),
            "address": paired.address(),
            "serverName": OWN_NAME,
            "certificate": certificate,
            "token": token,
        })),
        Form::People | Form::Csv => {
            let text = words::exported(printer.screen(), &paired, &certificate, &token);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// The two files, which are there from the beginning and go again unless they are kept.
struct Files {
    certificate: New,
    token: New,
}

impl Files {
    fn begin(folder: &Path, name: &str) -> Result<Self, Fault> {
        let certificate = New::begin(folder.join(format!("{name}.pem")))?;
        let token = New::begin(folder.join(format!("{name}.token")))?;
        Ok(Self { certificate, token })
    }

    /// Writes what the script needs; gives the paths.
    fn keep(self, paired: &Paired) -> Result<(String, String), Fault> {
        let certificate = self.certificate.keep(&paired.certificate)?;
        let token = self.token.keep(&format!("{}\n", paired.token))?;
        Ok((certificate, token))
    }
}

/// A file that was not there and is its owner's alone.
struct New {
    path: PathBuf,
    file: File,
    kept: bool,
}

impl New {
    fn begin(path: PathBuf) -> Result<Self, Fault> {
        match alone().open(&path) {
            Ok(file) => Ok(Self {
                path,
                file,
                kept: false,
            }),
            Err(error) => Err(unmade(&path, &error)),
        }
    }

    fn keep(mut self, text: &str) -> Result<String, Fault> {
        let written = self.file.write_all(text.as_bytes());
        let shown = self.path.display().to_string();
        written
            .and_then(|()| self.file.sync_all())
            .map_err(|error| Fault::file(&shown, &error))?;
        self.kept = true;
        Ok(shown)
    }
}

impl Drop for New {
    fn drop(&mut self) {
        if !self.kept {
            // It is empty, and was made by this very command.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// Makes a new file that nobody else may read.
fn alone() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    options
}

fn unmade(path: &Path, error: &io::Error) -> Fault {
    let shown = path.display().to_string();
    if error.kind() != io::ErrorKind::AlreadyExists {
        return Fault::file(&shown, error);
    }
    let mut fault = Fault::usage("--to", format!("{shown} is there already."));
    fault.todo = "Nothing was written. Name another folder with --to, or another name with --for."
        .to_owned();
    let name = path.file_stem().unwrap_or_default().to_string_lossy();
    fault.with_example(format!("fettle shop export-key --for {name}-2"))
}
