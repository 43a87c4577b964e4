//! `bommie export`: fields and rock for other programs.

use std::path::{Path, PathBuf};

use clap::Args;

use super::solve::{Case, WaterArgs};
use super::{EXIT_GOOD, EXIT_USAGE, Streams, TerminalError};
use crate::export::{flow_vtk, light_vtk, rock_stl, rocks_stl, water_light};
use crate::light::LightOptions;
use crate::units::M_PER_CM;

#[derive(Args, Debug)]
pub(super) struct ExportArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// Write the flow as legacy VTK
    #[arg(long, value_name = "FILE.vtk")]
    flow: Option<PathBuf>,
    #[command(flatten)]
    water: WaterArgs,
    /// Write the light in the water as legacy VTK
    #[arg(long, value_name = "FILE.vtk")]
    light: Option<PathBuf>,
    /// Edge of the cells of the light, in cm
    #[arg(long, default_value_t = 4.0)]
    light_cell_cm: f64,
    /// Write the rocks as STL, in mm
    #[arg(long, value_name = "FILE.stl")]
    rock: Option<PathBuf>,
    /// Only the rock with this id
    #[arg(long)]
    only_rock: Option<u32>,
    /// Size of the triangles, in cm
    #[arg(long, default_value_t = 0.5)]
    triangle_cm: f64,
}

pub(super) fn run(args: &ExportArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    if args.flow.is_none() && args.light.is_none() && args.rock.is_none() {
        writeln!(
            streams.err,
            "nothing to write: name a file with --flow, --light or --rock"
        )?;
        return Ok(EXIT_USAGE);
    }
    within(
        "--light-cell-cm",
        args.light_cell_cm,
        [0.5, 20.0],
        "0.5 to 20 cm",
    )?;
    within("--triangle-cm", args.triangle_cm, [0.1, 5.0], "0.1 to 5 cm")?;
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    for path in [&args.rock, &args.light, &args.flow].into_iter().flatten() {
        streams.guard.check(path)?;
    }
    if let Some(path) = &args.rock {
        write(path, &rocks(args, &case)?, streams)?;
    }
    let title = format!("{}, {}", case.study.scene().name, case.layout().name);
    if let Some(path) = &args.light {
        let lit = case.light(&LightOptions::default(), None, streams)?;
        let cell_m = args.light_cell_cm * M_PER_CM;
        let water = water_light(&lit.solver, &case.study, cell_m);
        write(path, &light_vtk(&water, &title), streams)?;
    }
    if let Some(path) = &args.flow {
        let field = case.flow(false, &args.water, streams)?;
        write(path, &flow_vtk(&field, &title), streams)?;
    }
    Ok(EXIT_GOOD)
}

fn rocks(args: &ExportArgs, case: &Case) -> Result<Vec<u8>, TerminalError> {
    let layout = case.layout();
    let cell_m = args.triangle_cm * M_PER_CM;
    let Some(id) = args.only_rock else {
        return Ok(rocks_stl(layout, cell_m));
    };
    let rock = layout.rocks.iter().find(|rock| rock.id == id);
    let rock = rock.ok_or_else(|| TerminalError::NoRock {
        wanted: id,
        layout: layout.name.clone(),
    })?;
    Ok(rock_stl(rock, cell_m))
}

fn within(
    option: &'static str,
    value: f64,
    [low, high]: [f64; 2],
    limit: &'static str,
) -> Result<(), TerminalError> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(TerminalError::BadOption {
            option,
            value,
            limit,
        })
    }
}

fn write(path: &Path, bytes: &[u8], streams: &mut Streams<'_>) -> Result<(), TerminalError> {
    streams.guard.write(path, bytes)?;
    writeln!(streams.err, "written: {}", path.display())?;
    Ok(())
}
