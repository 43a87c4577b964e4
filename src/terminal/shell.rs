//! `bommie shell`: what a shell and `man` want to know of the command line.

use clap::{Args, ValueEnum};
use clap_complete::Shell;

use super::{EXIT_GOOD, Streams, TerminalError, command_line};

#[derive(Args, Debug)]
pub(super) struct ShellArgs {
    /// Completions for this shell, or the manual page
    #[arg(value_enum)]
    what: What,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum What {
    Bash,
    Zsh,
    Fish,
    Man,
}

pub(super) fn run(args: &ShellArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let mut command = command_line();
    let shell = match args.what {
        What::Bash => Shell::Bash,
        What::Zsh => Shell::Zsh,
        What::Fish => Shell::Fish,
        What::Man => {
            write_manual(command, streams)?;
            return Ok(EXIT_GOOD);
        }
    };
    // In one piece: the writer of completions cannot say that it failed.
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut command, "bommie", &mut text);
    streams.out.write_all(&text)?;
    Ok(EXIT_GOOD)
}

/// One page for the program and all its commands.
fn write_manual(command: clap::Command, streams: &mut Streams<'_>) -> std::io::Result<()> {
    let mut page = Vec::new();
    let command = command.disable_help_subcommand(true);
    let whole = clap_mangen::Man::new(command.clone());
    whole.render_title(&mut page)?;
    whole.render_name_section(&mut page)?;
    whole.render_synopsis_section(&mut page)?;
    whole.render_description_section(&mut page)?;
    whole.render_options_section(&mut page)?;
    for sub in command.get_subcommands() {
        let name = sub.get_name().to_owned();
        let sub = sub.clone().display_name(format!("bommie {name}"));
        let title = format!(".SH \"BOMMIE {}\"\n", name.to_uppercase());
        page.extend_from_slice(title.as_bytes());
        let part = clap_mangen::Man::new(sub);
        // Its own headings, one level down.
        let mut text = Vec::new();
        part.render_description_section(&mut text)?;
        part.render_options_section(&mut text)?;
        let text = String::from_utf8_lossy(&text).replace(".SH ", ".SS ");
        page.extend_from_slice(text.as_bytes());
    }
    whole.render_extra_section(&mut page)?;
    streams.out.write_all(&page)
}
