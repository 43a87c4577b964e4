//! Fits what the estimate says of the felt speed on resolved tanks, in two steps:
//!
//! ```text
//! cargo run --release -p bommie-flow --example felt -- features TANKS OUT [--cells 1,1.25,1.5,2] [--runs 3] [--tanks a-,aa] [--window 40,120] [--walls rest] [--on card] [--first OUT1]
//! cargo run --release -p bommie-flow --example felt -- fit OUT [--also OUT1] [--law assets/felt.ron]
//!     [--diagram src/flow/reliability.svg] [--note "what the fields were computed with"]
//! cargo run --release -p bommie-flow --example felt -- check OUT [--tanks c]
//! ```
//! `features` solves every tank of the folder TANKS as the program does and writes `OUT/NAME_CELL.csv`: place, felt
//! speed of the resolved tank, and the features that the program sees there; `--first` those of the first run alone besides. `fit` reads these tables, fits on the
//! fit tanks alone, writes the coefficients, prints how what is said of the check tanks was borne out, and draws it.
//! `check` does the last two with the coefficients that the program has. Tables of `--also` (other runs of the same
//! tanks) take part in the fit alone. With `--tanks` only check tanks whose names begin so are told of: `c` for those
//! of the blind test.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

mod check;
mod fit;
mod solve;
mod table;
mod tank;

use std::path::Path;

use bommie_flow::felt::FeltLaw;

fn option<'a>(args: &'a [String], name: &str) -> Option<&'a str> {
    let at = args.iter().position(|arg| arg == name)?;
    args.get(at + 1).map(String::as_str)
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let word = |at: usize| args.get(at).map(String::as_str);
    match (word(0), word(1), word(2)) {
        (Some("features"), Some(tanks), Some(out)) => {
            solve::features(Path::new(tanks), Path::new(out), &args);
        }
        (Some(deed @ ("fit" | "check")), Some(tables), _) => {
            let tables = table::read_all(Path::new(tables));
            let path = option(&args, "--law").unwrap_or("assets/felt.ron");
            let law: FeltLaw = if deed == "fit" {
                let also = option(&args, "--also");
                let also = also.map_or_else(Vec::new, |dir| table::read_all(Path::new(dir)));
                let all: Vec<&table::Table> = tables.iter().chain(&also).collect();
                let law = fit::fitted(&all, option(&args, "--note").unwrap_or_default());
                std::fs::write(path, fit::as_text(&law)).expect("the law can be written");
                law
            } else {
                let text = std::fs::read_to_string(path).expect("the law is there");
                ron::from_str(&text).expect("a law")
            };
            assert!(law.is_sound(), "the law rises with the speed");
            let begin: Vec<&str> = (option(&args, "--tanks").unwrap_or_default())
                .split(',')
                .collect();
            let said = check::Said::new(&tables, &law, &begin);
            said.print();
            let diagram = option(&args, "--diagram").unwrap_or("src/flow/reliability.svg");
            std::fs::write(diagram, said.diagram()).expect("the diagram can be written");
        }
        _ => println!("felt features TANKS OUT | felt fit OUT | felt check OUT"),
    }
}
