//! `groundfit why`: how each species fares at one place.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Failure;
use crate::plural::counted;
use crate::project::Project;
use crate::run::{Explanation, Prepared, SoilHere, SpeciesHere, Why};

/// Explain how each species fares at one place.
#[derive(Debug, Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "Examples:
  groundfit why site.toml 481200 4981350           in the grid's CRS
  groundfit why site.toml -93.24 44.98             longitude and latitude
  groundfit why site.toml -93.24 44.98 --species 'red maple' --json

For each species: the score on each factor, the value the ground has, the value it would need, and what is
unknown. Single noisy cells are voted down before zones are drawn, so a zone may differ from one of its cells."
)]
pub struct WhyCommand {
    /// The project file
    project: PathBuf,
    /// East in the grid's CRS, or longitude
    x: f64,
    /// North in the grid's CRS, or latitude
    y: f64,
    /// What the two numbers are; unless given, numbers within +-180 and +-90 are degrees
    #[arg(long, value_enum)]
    coordinates: Option<Coordinates>,
    /// Only this species: id, common or scientific name
    #[arg(long, short)]
    species: Option<String>,
    /// Print JSON for programs
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Coordinates {
    /// Longitude and latitude in degrees (WGS 84)
    LonLat,
    /// Metres in the grid's CRS
    Grid,
}

/// Runs the command.
///
/// # Errors
/// Problems with the project, a place outside, a species that is not there.
pub fn run(command: &WhyCommand, out: &mut dyn Write) -> Result<u8, Failure> {
    let project = Project::read(&command.project)?;
    let prepared = Prepared::open(&project)?;
    let degrees = command.x.abs() <= 180.0 && command.y.abs() <= 90.0;
    let why = Why {
        x: command.x,
        y: command.y,
        lon_lat: command
            .coordinates
            .map_or(degrees, |coordinates| coordinates == Coordinates::LonLat),
    };
    let told = prepared.explain(why, command.species.as_deref())?;
    if command.json {
        serde_json::to_writer_pretty(&mut *out, &told)?;
        writeln!(out)?;
        return Ok(0);
    }
    tell(&told, out)?;
    Ok(0)
}

fn tell(told: &Explanation, out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(
        out,
        "x {:.1}, y {:.1} in {}; longitude {:.6}, latitude {:.6}; row {}, column {} of the grid",
        told.x, told.y, told.crs, told.lon, told.lat, told.row, told.col
    )?;
    if let Some(cause) = &told.not_rated {
        writeln!(
            out,
            "this place is not rated ({cause}); what follows is what its layers would say"
        )?;
    }
    writeln!(out, "\nthe ground here")?;
    let width = told
        .ground
        .iter()
        .map(|ground| ground.factor.len())
        .max()
        .unwrap_or(0);
    for ground in &told.ground {
        let behind = ground.behind.as_ref();
        let behind = behind.map_or_else(String::new, |behind| format!(" ({behind})"));
        writeln!(out, "  {:width$}  {}{behind}", ground.factor, ground.found)?;
        for note in &ground.from {
            writeln!(out, "  {:width$}    {note}", "")?;
        }
    }
    if let Some(soil) = &told.soil {
        tell_soil(soil, out)?;
    }
    for (state, heading) in [
        ("suits", "suits"),
        ("does not suit", "does not suit"),
        ("not known", "not known"),
    ] {
        let those: Vec<&SpeciesHere> = told
            .species
            .iter()
            .filter(|species| species.state == state)
            .collect();
        if those.is_empty() {
            continue;
        }
        writeln!(out, "\n{heading} ({})", those.len())?;
        for species in those {
            tell_species(species, out)?;
        }
    }
    Ok(())
}

/// The map unit behind the soil values, and all of its soils.
fn tell_soil(soil: &SoilHere, out: &mut dyn Write) -> Result<(), Failure> {
    let name = soil.name.as_deref().unwrap_or("unnamed");
    let symbol = soil
        .symbol
        .as_ref()
        .map_or_else(String::new, |symbol| format!(", symbol {symbol}"));
    writeln!(
        out,
        "\nthe soil survey here: {name} (map unit {}{symbol}), read by {}{}",
        soil.unit,
        soil.reading,
        if soil.reading == "each component" {
            "; the ground above is its largest soil's"
        } else {
            ""
        }
    )?;
    for part in &soil.soils {
        let drainage = part.drainage.as_deref().unwrap_or("drainage not told");
        let moisture = part.moisture.unwrap_or("moisture not known");
        let assumed = part
            .assumed
            .map_or_else(String::new, |what| format!(" (assumed: {what})"));
        let salt = part.road_salt_ds_m;
        let salt = salt.map_or_else(String::new, |salt| format!(", {salt:.1} dS/m from road salt"));
        writeln!(
            out,
            "  {:>3.0} %  {}: {drainage}, {moisture}{assumed}{salt}",
            part.share_pct, part.name
        )?;
    }
    if soil.untold_pct >= 0.5 {
        writeln!(out, "  {:>3.0} %  not told", soil.untold_pct)?;
    }
    Ok(())
}

fn tell_species(species: &SpeciesHere, out: &mut dyn Write) -> Result<(), Failure> {
    let class = species
        .class
        .map_or_else(String::new, |class| format!("{} ({class})", class.words()));
    let rating = species
        .rating
        .map_or_else(String::new, |rating| format!(", rating {rating:.2}"));
    let rests = if species.class.is_some() {
        format!(", on {} of {}", species.rests_on, counted(species.of, "factor"))
    } else {
        String::new()
    };
    writeln!(
        out,
        "  {} ({}): {class}{rating}{rests}",
        species.common_name, species.scientific_name
    )?;
    if let Some(range) = &species.range {
        let record = match range.nearest_record.as_str() {
            "" => String::new(),
            record => format!("; nearest record: {record}"),
        };
        writeln!(out, "         {}{record}", range.documented)?;
    }
    for answer in &species.answers {
        match (answer.score, &answer.needed, answer.note) {
            (Some(score), Some(needed), _) => {
                writeln!(
                    out,
                    "    {:>4.2} {}: has {}, needs {needed}",
                    score, answer.factor, answer.found
                )?;
            }
            (Some(score), None, _) => {
                writeln!(out, "    {:>4.2} {}: {}", score, answer.factor, answer.found)?;
            }
            (None, _, note) => {
                writeln!(
                    out,
                    "       - {}: {} ({})",
                    answer.factor,
                    answer.found,
                    note.unwrap_or("no score")
                )?;
            }
        }
        for soil in &answer.soils {
            let name = soil.name.as_deref().unwrap_or("not told");
            let score = soil
                .score
                .map_or_else(String::new, |score| format!(" {score:.2}"));
            let factor = soil
                .factor
                .as_ref()
                .map_or_else(String::new, |factor| format!(", {factor}"));
            writeln!(
                out,
                "           {:>3.0} %  {name}: {}{score}{factor}",
                soil.share * 100.0,
                soil.state
            )?;
        }
    }
    Ok(())
}
