//! The command line: what can be said, before anything is asked.
//!
//! It serves `run`, completion and the manual pages, which all read the same tree. Reading the
//! command line touches neither the book nor the clock.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::{
    ArgMatches, ColorChoice, CommandFactory as _, FromArgMatches as _, Parser, parser::ValueSource,
};

use crate::commands::Command;
use crate::commands::shop::ShopCommand;
use crate::commands::today::Today;
use crate::connect::{Whereabouts, own_folder, shop_folder};
use crate::fault::Fault;
use crate::mistyped::nearest;
use crate::shop::folder::is_paired;
use crate::solo::SoloClock;

const ABOUT: &str = "Keeps the book of a paint-correction kit: will it carry the job, what wore, \
     what ran down.";

const AFTER: &str = "\
A day with it:
  fettle                               where the shop stands, and what to do now
  fettle check                         will the kit carry the next booked job?
  fettle log saloon-thursday           it was done as planned
  fettle log saloon-thursday --pad P-07:torn --weigh B-03=412g
  fettle wash P-01 P-02 T-01
  fettle charge BT-01 BT-02            on the charger
  fettle fill B-06 from B-01           topped up or poured over: what left B-01 is in B-06
  fettle count B-06 500ml              counted: what is in it now
  fettle kit list
  fettle wear                          how worn is the kit, and what is to be replaced when?
  fettle reorder                       what to order, from whom and by when?
  fettle quote saloon-thursday --markup 30%
  fettle page --phone                  the book on a telephone at the bench

Times are written tomorrow 08:00, thu 08:00, 2026-11-26 08:00 or +2 days.
Quantities carry their unit: 250 ml, 412 g, 8 dots, 150 mm, 90 um.

Exit codes: 0 done or go, 1 failed, 2 wrong usage, 3 the answer is no, 4 not found, 5 conflict,
6 service unreachable, 7 not allowed, 8 damage found.

Always follow the label, the data sheet and local rules; what this program says does not replace
them.";

/// Heading of the options that every command takes.
const EVERYWHERE: &str = "Options of every command";

/// The command line.
#[derive(Debug, Parser)]
#[command(name = "fettle", version, about = ABOUT, after_help = AFTER)]
#[command(infer_subcommands = false, infer_long_args = false)]
pub(crate) struct Cli {
    /// Folder of the book; without it the shop's, if this device is paired, or your own
    #[arg(
        long,
        global = true, help_heading = EVERYWHERE,
        value_name = "DIR",
        env = "FETTLE_BOOK",
        hide_env_values = true
    )]
    pub(crate) book: Option<PathBuf>,
    /// Address of a running fettled, for example http://127.0.0.1:7420
    #[arg(
        long,
        global = true, help_heading = EVERYWHERE,
        value_name = "URL",
        env = "FETTLE_AT",
        hide_env_values = true
    )]
    pub(crate) at: Option<String>,
    /// Folder of a shop that this device is paired with; without it the one paired last
    #[arg(
        long,
        global = true, help_heading = EVERYWHERE,
        value_name = "DIR",
        env = "FETTLE_SHOP",
        hide_env_values = true
    )]
    pub(crate) shop: Option<PathBuf>,
    /// Tell at length why a shop is out of reach
    #[arg(long, short = 'v', global = true, help_heading = EVERYWHERE)]
    pub(crate) verbose: bool,
    /// Print the answer and nothing beside it but errors, trouble, what is odd, and questions
    #[arg(long, short = 'q', global = true, help_heading = EVERYWHERE, conflicts_with = "verbose")]
    pub(crate) quiet: bool,
    /// In a shop: keep nothing here; what cannot be sent now fails
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) now: bool,
    /// Take this machine's clock for right, once, where it is long after or before the last entry of
    /// the book
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) accept_clock: bool,
    /// Ask nothing, as where nobody is at a terminal: what is odd is recorded and flagged
    #[arg(long, visible_alias = "no-input", global = true, help_heading = EVERYWHERE)]
    pub(crate) yes: bool,
    /// One JSON document on stdout, by the contract's own mapping (ProtoJSON): whole numbers of 64 bits are text;
    /// 'fettle schema COMMAND' describes it
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) json: bool,
    /// The same with whole numbers as numbers, for programs that want them
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) json_numbers: bool,
    /// Width of the page, in columns
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "COUNT")]
    pub(crate) columns: Option<u16>,
    /// No colour, as with NO_COLOR
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) no_color: bool,
    /// Print long pages as they are, without a pager
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub(crate) no_pager: bool,
    /// The words as they were typed.
    #[arg(skip)]
    pub(crate) typed: Vec<OsString>,
    /// What to do
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
}

/// What is done where nothing is said.
static TODAY: Command = Command::Today(Today {});

/// All that can be typed, put together for looking at.
pub(crate) fn tree() -> clap::Command {
    let mut tree = described();
    tree.build();
    tree
}

/// All that can be typed, as it is described to the parser. Where an amount is expected one below zero is
/// taken for one, so that it is told what is wrong with it.
pub(crate) fn described() -> clap::Command {
    fn negative(command: clap::Command) -> clap::Command {
        let command = command.mut_args(|arg| {
            let takes_value = arg.get_action().takes_values() && !arg.is_allow_hyphen_values_set();
            if takes_value {
                arg.allow_negative_numbers(true)
            } else {
                arg
            }
        });
        command.mut_subcommands(negative)
    }
    negative(Cli::command())
}

/// The same for words that were typed: where they name a command, its help leaves the options of every
/// command to `fettle --help`.
pub(crate) fn tree_for(args: &[OsString]) -> clap::Command {
    let tree = described();
    let names = |word: &str| tree.find_subcommand(word).is_some();
    if !args.iter().filter_map(|word| word.to_str()).any(names) {
        return tree;
    }
    let tree = tree.mut_args(|arg| {
        let is_everywhere = arg.is_global_set();
        arg.hide(is_everywhere)
    });
    tree.mut_subcommands(with_a_word)
}

/// What stands at the end of a command's help.
fn with_a_word(command: clap::Command) -> clap::Command {
    const WORD: &str = "Options of every command are in 'fettle --help'.";
    let after = match command.get_after_help() {
        Some(text) => format!("{text}\n\n{WORD}"),
        None => WORD.to_owned(),
    };
    command.after_help(after).mut_subcommands(with_a_word)
}

impl Cli {
    /// What to do; without a word it is `today`.
    pub(crate) fn asked(&self) -> &Command {
        self.command.as_ref().unwrap_or(&TODAY)
    }

    /// Reads a command line.
    ///
    /// # Errors
    /// What the parser stumbled over, or that help was asked for.
    pub(crate) fn read(
        args: &[OsString],
        colour: ColorChoice,
    ) -> Result<(Self, ArgMatches), clap::Error> {
        let tree = tree_for(args).color(colour);
        let matches = tree.try_get_matches_from(args)?;
        let mut cli = Self::from_arg_matches(&matches)?;
        cli.typed = args.to_vec();
        Ok((cli, matches))
    }

    /// Whether it may begin a book in a folder that is not there yet, or needs none.
    pub(crate) const fn begins(&self) -> bool {
        matches!(
            self.command,
            Some(
                Command::Start(_)
                    | Command::Sheet(_)
                    | Command::Demo(_)
                    | Command::Completions(_)
                    | Command::Man(_)
            )
        )
    }

    /// Whose clock tells the time of a book.
    ///
    /// # Errors
    /// When a clock is accepted for a book that another machine has open.
    pub(crate) fn clock(&self, whereabouts: &Whereabouts) -> Result<SoloClock, Fault> {
        match whereabouts {
            _ if !self.accept_clock => Ok(SoloClock::System),
            // In a shop it is that of this device, by which deeds are kept.
            Whereabouts::Folder(_) | Whereabouts::Shop { .. } => Ok(SoloClock::Accepted),
            Whereabouts::At(_) => Err(Fault::usage(
                "--accept-clock",
                "The clock of a book is that of the machine that has it open: start fettled there \
                 with --accept-clock once.",
            )),
        }
    }

    /// Whether `--at` says where others reach the shop, and not where this command finds a service.
    fn is_for_others(&self) -> bool {
        let lets_in = match self.asked() {
            Command::Shop(ShopCommand::Open(_)) => true,
            Command::Shop(ShopCommand::Pair(args)) => args.name.is_some(),
            Command::Page(_) => true,
            _ => false,
        };
        lets_in && self.at.as_ref().is_some_and(|at| !at.contains("://"))
    }

    /// Where the book is: what was typed goes before the environment, a book or an address before a
    /// shop, and a shop that this device is paired with before the person's own folder.
    ///
    /// # Errors
    /// When two of them are typed, or there is no folder to keep a book in.
    pub(crate) fn whereabouts(&self, matches: &ArgMatches) -> Result<Whereabouts, Fault> {
        let at = self.at.clone().filter(|_| !self.is_for_others());
        let typed = |id: &str| {
            let counts = id != "at" || at.is_some();
            counts && matches.value_source(id) == Some(ValueSource::CommandLine)
        };
        let options = ["book", "at", "shop"].into_iter().filter(|id| typed(id));
        if let [first, second, ..] = options.collect::<Vec<_>>().as_slice() {
            return Err(Fault::usage(
                &format!("--{second}"),
                format!(
                    "A book is in a folder, at an address or in a shop; give --{first} or \
                     --{second}, not both."
                ),
            ));
        }
        if let Some(folder) = self
            .book
            .as_deref()
            .filter(|folder| typed("book") && !folder.exists() && !self.begins())
        {
            return Err(no_such_book(folder));
        }
        let folder = self.book.clone().map(Whereabouts::Folder);
        let address = at.clone().map(Whereabouts::At);
        let insists = self.now;
        let shop = self
            .shop
            .clone()
            .map(|folder| Whereabouts::Shop { folder, insists });
        let found = if typed("book") {
            folder
        } else if typed("shop") {
            shop
        } else {
            address.or(folder).or(shop)
        };
        let paired = || {
            let folder = shop_folder().filter(|folder| is_paired(folder));
            folder.map(|folder| Whereabouts::Shop { folder, insists })
        };
        match found.or_else(paired) {
            Some(found) => Ok(found),
            None => own_folder().map(Whereabouts::Folder),
        }
    }

    /// The folder of the book on this machine, whatever shop is paired.
    ///
    /// # Errors
    /// When there is no home folder and none is named.
    pub(crate) fn book_folder(&self) -> Result<PathBuf, Fault> {
        self.book.clone().map_or_else(own_folder, Ok)
    }

    /// The folder of the shop that this device is paired with, or is to be.
    ///
    /// # Errors
    /// When there is no home folder and none is named.
    pub(crate) fn shop_folder(&self) -> Result<PathBuf, Fault> {
        self.shop.clone().or_else(shop_folder).ok_or_else(|| {
            Fault::usage(
                "--shop",
                "There is no home folder to keep that in; name a folder with --shop DIR.",
            )
        })
    }
}

/// A folder that was named for the book and is not there: perhaps a slip of the finger, so none is made.
fn no_such_book(folder: &Path) -> Fault {
    let shown = folder.display();
    let mut fault = Fault::usage(
        "--book",
        format!("There is no folder {shown}, so no book is in it."),
    );
    fault.todo = format!("For a new book there, make the folder first: mkdir {shown}");
    let near = folder.parent().map(|above| {
        if above.as_os_str().is_empty() {
            Path::new(".")
        } else {
            above
        }
    });
    let names = near
        .and_then(|above| above.read_dir().ok())
        .into_iter()
        .flatten();
    let folders = names
        .filter_map(|entry| entry.ok())
        .filter(|entry| entry.path().join("journal").is_dir());
    let names = folders
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    let said = folder
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    if let Some(name) = nearest(&said, names) {
        fault.hints.name = shown.to_string();
        fault.hints.meant = folder.with_file_name(name).display().to_string();
        fault.todo = format!("Perhaps {}? {}", fault.hints.meant, fault.todo);
    } else {
        "fettle book where".clone_into(&mut fault.hints.example);
    }
    fault
}

#[cfg(test)]
mod tests {
    use super::Cli;
    use crate::connect::Whereabouts;
    use clap::{CommandFactory as _, FromArgMatches as _};

    fn whereabouts(words: &[&str]) -> Result<Whereabouts, String> {
        let matches = Cli::command().try_get_matches_from(words).unwrap();
        Cli::from_arg_matches(&matches)
            .unwrap()
            .whereabouts(&matches)
            .map_err(|fault| fault.message)
    }

    #[test]
    fn the_tree_of_commands_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_folder_or_an_address_but_not_both() {
        assert_eq!(
            whereabouts(&["fettle", "--book", "/", "kit", "list"]),
            Ok(Whereabouts::Folder("/".into()))
        );
        let mistyped = whereabouts(&["fettle", "--book", "/no-such/kit", "kit", "list"]);
        assert!(mistyped.unwrap_err().contains("/no-such/kit"));
        assert_eq!(
            whereabouts(&["fettle", "kit", "list", "--at", "http://127.0.0.1:1"]),
            Ok(Whereabouts::At("http://127.0.0.1:1".to_owned()))
        );
        let both = whereabouts(&["fettle", "--book", "/tmp/b", "--at", "http://h:1", "check"]);
        assert!(both.unwrap_err().contains("not both"));
    }

    #[test]
    fn a_shop_that_is_typed_stands_beside_neither() {
        let shop = |insists| {
            let folder = "/tmp/s".into();
            Ok(Whereabouts::Shop { folder, insists })
        };
        assert_eq!(
            whereabouts(&["fettle", "--shop", "/tmp/s", "check"]),
            shop(false)
        );
        let now = ["fettle", "check", "--shop", "/tmp/s", "--now"];
        assert_eq!(whereabouts(&now), shop(true));
        let with_book = whereabouts(&["fettle", "--book", "/tmp/b", "--shop", "/tmp/s", "check"]);
        assert!(
            with_book
                .unwrap_err()
                .contains("--book or --shop, not both")
        );
        let with_at = whereabouts(&["fettle", "--shop", "/tmp/s", "--at", "http://h:1", "check"]);
        assert!(with_at.unwrap_err().contains("--at or --shop, not both"));
    }

    #[test]
    fn commands_are_never_abbreviated() {
        assert!(
            Cli::command()
                .try_get_matches_from(["fettle", "che"])
                .is_err()
        );
        assert!(
            Cli::command()
                .try_get_matches_from(["fettle", "kit", "list", "--js"])
                .is_err()
        );
    }
}
