//! What the place demands, from the command line: an option for each of the words in which it can be said.

use crate::confirm::{Key, PlaceKey, Said};
use crate::matching::Place;
use clap::builder::{PossibleValuesParser, ValueParser};
use clap::{Arg, ArgMatches, Command};

/// What the place demands, as it was said; shared by all subcommands that match.
#[derive(Debug, Clone)]
pub(super) struct PlaceArgs(Vec<(PlaceKey, String)>);

impl PlaceArgs {
    /// The place as far as it was said.
    pub(super) fn place(&self) -> Place {
        let mut place = Place::default();
        for (key, answer) in &self.0 {
            // Understood when the command line was.
            let _ = key.put(answer, &mut place);
        }
        place
    }

    /// The same as answers of this person.
    pub(super) fn said(&self, who: &str) -> Vec<Said> {
        let said = |(key, answer): &(PlaceKey, String)| Said {
            key: Key::Place(*key),
            printed: answer.clone(),
            who: who.to_owned(),
        };
        self.0.iter().map(said).collect()
    }
}

fn option(key: PlaceKey) -> Arg {
    let arg = Arg::new(key.word())
        .long(key.option())
        .value_name(key.value())
        .help(key.help())
        .help_heading("The place");
    if key.is_free() {
        arg.value_parser(parser(key))
    } else {
        arg.value_parser(PossibleValuesParser::new(key.choices()))
            .ignore_case(true)
    }
}

fn parser(key: PlaceKey) -> ValueParser {
    let parse = move |answer: &str| {
        let understood =
            !answer.trim().is_empty() && key.put(answer, &mut Place::default()).is_some();
        understood.then(|| answer.to_owned()).ok_or(key.hint())
    };
    parse.into()
}

impl clap::Args for PlaceArgs {
    fn augment_args(command: Command) -> Command {
        command.args(PlaceKey::all().map(option))
    }

    fn augment_args_for_update(command: Command) -> Command {
        PlaceArgs::augment_args(command)
    }
}

impl clap::FromArgMatches for PlaceArgs {
    fn from_arg_matches(matches: &ArgMatches) -> Result<PlaceArgs, clap::Error> {
        let said = |key: PlaceKey| Some((key, matches.get_one::<String>(key.word())?.clone()));
        Ok(PlaceArgs(PlaceKey::all().filter_map(said).collect()))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = PlaceArgs::from_arg_matches(matches)?;
        Ok(())
    }
}
