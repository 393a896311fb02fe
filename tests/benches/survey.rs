//! The sample's soil survey opened and read in cells of a metre, each factor by itself.

use std::path::Path;

use groundfit::project::{FactorSection, FactorSource, Project};
use groundfit::site::{Sections, Site};

use crate::ground::as_f64;
use crate::timing::Timing;

pub fn soil_survey(timing: &Timing) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/soil-survey.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let cell = if timing.is_trial() {
        "cell_m = 5"
    } else {
        "cell_m = 1"
    };
    let project = Project::parse(&text.replace("cell_m = 5", cell), &path).unwrap();
    let open = |factors: &[FactorSection]| {
        let sections = Sections {
            area: &project.area,
            factors,
            road_salt: None,
            exclude: &[],
            soil_survey: project.soil_survey.as_ref(),
        };
        Site::open(sections).unwrap()
    };
    let drawn = |section: &&FactorSection| matches!(section.source, FactorSource::SoilSurvey { .. });
    let drawn: Vec<FactorSection> = project.factors.iter().filter(drawn).cloned().collect();
    let cells = as_f64(open(&drawn).grid().cells());
    timing.time("soil survey, opened", cells, "cells", || (), |()| open(&drawn));
    for some in [&drawn[..1], &drawn[..]] {
        let site = open(some);
        let name = format!("soil survey read, factors: {}", some.len());
        timing.time(
            &name,
            cells,
            "cells",
            || (),
            |()| {
                let tiles = site.grid().tiles();
                tiles
                    .map(|tile| site.read_tile(tile).unwrap().factors.len())
                    .sum::<usize>()
            },
        );
    }
}
