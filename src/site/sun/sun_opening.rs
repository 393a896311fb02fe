//! Opens the layers of a factor of sunlight and reckons its table of hours.

use super::beam::Passing;
use super::sun_layer::{OpenCanopy, OpenObstacles, SunLayer};
use super::sun_table::{self, Counting, SunTable};
use crate::factor::{Factor, Kind, Unit};
use crate::gis::{self, GisError, Transform};
use crate::grid::Grid;
use crate::project::{
    Canopy, Day, FactorSection, FactorSource, Foliage, LightSettings, Obstacles, Season, SideRaster,
    SunSource, USUAL_YEAR, UnknownHeights,
};
use crate::site::LayerFact;
use crate::site::finding::Findings;
use crate::site::raster_checks;
use crate::site::raster_plan::{Looked, Place, RasterPlan};

/// More margin than this takes more memory than a run should.
const MOST_MARGIN_CELLS: f64 = 2_000.0;

/// A site whose ends differ by more hours is told.
const TOLD_HOURS: f64 = 5.0 / 60.0;

/// Further rasters of a factor of sunlight, looked at.
pub struct SunLooked {
    obstacles: Option<(Looked, FactorSection)>,
    canopy: Option<(Looked, FactorSection)>,
}

impl SunLooked {
    /// Looks at the further rasters; what is wrong with them is told.
    pub fn new(section: &FactorSection, source: &SunSource, findings: &mut Findings) -> Option<SunLooked> {
        let mut look = |raster: &SideRaster, word: &str, unit: Unit| {
            let side = side_section(section, raster, word, unit);
            let looked = Looked::new(&side, &raster.layer, raster.band, findings)?;
            Some((looked, side))
        };
        let obstacles = source.obstacles.as_ref().map(|obstacles| {
            let word = match obstacles {
                Obstacles::Surface(_) => "surface",
                Obstacles::AboveGround(_) => "obstacles",
            };
            look(obstacles.raster(), word, Unit::Metre)
        });
        let canopy = source.canopy.as_ref().map(|canopy| match canopy.foliage {
            Foliage::Cover => look(&canopy.raster, "canopy", Unit::Percent),
            Foliage::LeafArea { .. } => look(&canopy.raster, "leaf_area", Unit::Index),
        });
        // A raster that is named and cannot be used ends the factor.
        Some(SunLooked {
            obstacles: obstacles.map_or(Some(None), |looked| looked.map(Some))?,
            canopy: canopy.map_or(Some(None), |looked| looked.map(Some))?,
        })
    }

    /// The factor's layers opened, its elevation already looked at; facts of all layers go
    /// to `facts`.
    pub fn open(
        self,
        elevation: Looked,
        section: &FactorSection,
        source: &SunSource,
        place: &Place,
        facts: &mut Vec<LayerFact>,
        findings: &mut Findings,
    ) -> Option<SunLayer> {
        let name = format!("factors.{}", section.factor.id);
        let settings = &source.settings;
        let given = source.vertical_unit.as_ref().map(|unit| unit.multiply);
        let metres_per_unit = raster_checks::metres_per_unit(
            &name,
            &source.elevation,
            &elevation.file,
            source.band,
            given,
            findings,
        );
        let cell_m = place.grid.cell_m();
        if settings.reach_m / cell_m > MOST_MARGIN_CELLS {
            findings.error(
                &name,
                format!(
                    "`reach_m` is {} m, which is {:.0} cells: at most {MOST_MARGIN_CELLS} can be held in memory around each tile, so a reach of {:.0} m or a larger `cell_m` is needed",
                    settings.reach_m,
                    settings.reach_m / cell_m,
                    MOST_MARGIN_CELLS * cell_m
                ),
            );
        }
        let too_far = settings.reach_m / cell_m > MOST_MARGIN_CELLS;
        let (plan, mut fact) = elevation.plan(section, source.band, source.nodata, place, findings)?;
        let metres_per_unit = metres_per_unit.filter(|_| !too_far)?;
        let obstacles = match (self.obstacles, &source.obstacles) {
            (Some(looked), Some(obstacles)) => Some(open_obstacles(
                looked,
                obstacles,
                metres_per_unit,
                place,
                facts,
                findings,
            )?),
            _ => None,
        };
        let canopy = match (self.canopy, &source.canopy) {
            (Some(looked), Some(canopy)) => {
                Some(open_canopy(looked, canopy, settings, place, facts, findings)?)
            }
            _ => None,
        };
        if canopy.is_some() && obstacles.as_ref().is_some_and(|obstacles| obstacles.surface) {
            findings.warn(
                &name,
                "both `surface` and a canopy are given: trees that are in both throw their shade twice, and a cell under a crown lies in a pit; take the trees out of one of them",
            );
        }
        let under_sky = findings.take(&name, Sky::new(place, &plan, metres_per_unit))?;
        let (season, usual) = match settings.season {
            Some(season) => (season, false),
            None => (
                usual_season(settings.leafless, under_sky.place.latitude_deg)?,
                true,
            ),
        };
        let counting = counting(settings, &season);
        let table = SunTable::new(&under_sky.place, &counting, settings.directions, canopy.is_some());
        under_sky.tell_of_spread(&name, &counting, settings, findings);
        if table.open_hours() <= 0.0 {
            findings.warn(
                &name,
                "the sun never counts in the season: every cell has 0 hours",
            );
        }
        "elevation, hours of sun".clone_into(&mut fact.kind);
        fact.notes = notes(source, &season, usual, &under_sky.place, &table);
        facts.push(fact);
        Some(SunLayer {
            elevation: plan,
            metres_per_unit,
            obstacles,
            canopy,
            table,
            reach_m: settings.reach_m,
            unknown_heights: settings.unknown_heights,
        })
    }
}

/// Hours under open sky take the place of canopy: told where the project knows a canopy and
/// the factor does not.
pub fn warn_of_open_sky(factors: &[FactorSection], findings: &mut Findings) {
    let knows_canopy = factors.iter().any(|section| section.factor.id == "canopy");
    for section in factors {
        if let FactorSource::Sun(source) = &section.source
            && source.canopy.is_none()
            && knows_canopy
        {
            findings.warn(
                &format!("factors.{}", section.factor.id),
                "the project has a canopy, but this factor does not name it: its hours are those above the trees; say `canopy = { layer = \"...\" }`",
            );
        }
    }
}

/// A further raster as a section of its own, so that it is looked at like all others.
fn side_section(section: &FactorSection, raster: &SideRaster, word: &str, unit: Unit) -> FactorSection {
    FactorSection {
        factor: Factor::added(&format!("{}.{word}", section.factor.id), Kind::Measured(unit)),
        source: FactorSource::Raster {
            layer: raster.layer.clone(),
            band: raster.band,
            nodata: raster.nodata,
            unit: raster.unit.clone(),
        },
        cuts: None,
        support_m: None,
        ..section.clone()
    }
}

fn open_obstacles(
    (looked, section): (Looked, FactorSection),
    obstacles: &Obstacles,
    ground_metres_per_unit: f64,
    place: &Place,
    facts: &mut Vec<LayerFact>,
    findings: &mut Findings,
) -> Option<OpenObstacles> {
    let raster = obstacles.raster();
    let own = raster.unit.as_ref().map(|unit| unit.multiply);
    let (plan, fact) = looked.plan(&section, raster.band, raster.nodata, place, findings)?;
    facts.push(fact);
    Some(OpenObstacles {
        plan,
        metres_per_unit: own.unwrap_or(ground_metres_per_unit),
        surface: matches!(obstacles, Obstacles::Surface(_)),
    })
}

fn open_canopy(
    (looked, section): (Looked, FactorSection),
    canopy: &Canopy,
    settings: &LightSettings,
    place: &Place,
    facts: &mut Vec<LayerFact>,
    findings: &mut Findings,
) -> Option<OpenCanopy> {
    let raster = &canopy.raster;
    let (plan, fact) = looked.plan(&section, raster.band, raster.nodata, place, findings)?;
    facts.push(fact);
    Some(OpenCanopy {
        plan,
        unit: raster.unit.clone(),
        foliage: canopy.foliage,
        left: settings.foliage_left,
    })
}

/// The months in which most things grow, or those before the leaves; common practice, no
/// source.
fn usual_season(leafless: bool, latitude_deg: f64) -> Option<Season> {
    let day = |year, (month, day)| Day::new(year, month, day);
    let (from, to, to_year) = match (leafless, latitude_deg >= 0.0) {
        (false, true) => ((5, 1), (9, 30), USUAL_YEAR),
        (false, false) => ((11, 1), (3, 31), USUAL_YEAR + 1),
        (true, true) => ((3, 15), (5, 5), USUAL_YEAR),
        (true, false) => ((9, 15), (11, 5), USUAL_YEAR),
    };
    Some(Season {
        from: day(USUAL_YEAR, from)?,
        to: day(to_year, to)?,
    })
}

fn counting(settings: &LightSettings, season: &Season) -> Counting {
    Counting {
        first_day: season.from.julian_number(),
        days: season.days(),
        least_w_m2: settings.least_irradiance_w_m2,
        least_height_deg: settings.least_sun_height_deg,
        passing: if settings.slant {
            Passing::Slant
        } else {
            Passing::Upright
        },
    }
}

/// The site under the sky: its middle, and its ends to the south and north.
struct Sky {
    place: sun_table::Place,
    south_deg: f64,
    north_deg: f64,
}

impl Sky {
    fn new(place: &Place, elevation: &RasterPlan, metres_per_unit: f64) -> Result<Sky, GisError> {
        let globe = gis::lon_lat()?;
        let to_globe = Transform::untold(place.grid.crs(), &globe)?;
        let area = &place.area;
        let middle = (
            f64::midpoint(area.west, area.east),
            f64::midpoint(area.south, area.north),
        );
        let mut points = [middle, (middle.0, area.south), (middle.0, area.north)];
        to_globe.apply(&mut points)?;
        let [(longitude_deg, latitude_deg), (_, south_deg), (_, north_deg)] = points;
        // Toward the equator, so that a pole is not passed.
        let step_deg = if latitude_deg > 0.0 { -0.001 } else { 0.001 };
        let mut northward = [(longitude_deg, latitude_deg + step_deg)];
        Transform::untold(&globe, place.grid.crs())?.apply(&mut northward)?;
        let (x, y) = northward[0];
        let sign = step_deg.signum();
        Ok(Sky {
            place: sun_table::Place {
                latitude_deg,
                longitude_deg,
                ground_m: mean_height(place.grid, place, elevation, metres_per_unit),
                to_grid_north_deg: ((x - middle.0) * sign).atan2((y - middle.1) * sign).to_degrees(),
            },
            south_deg: south_deg.min(north_deg),
            north_deg: south_deg.max(north_deg),
        })
    }

    /// Tells where the south and the north of the site have other hours than its middle.
    fn tell_of_spread(
        &self,
        name: &str,
        counting: &Counting,
        settings: &LightSettings,
        findings: &mut Findings,
    ) {
        if self.north_deg - self.south_deg < 0.1 {
            return;
        }
        let hours = |latitude_deg: f64| {
            let place = sun_table::Place {
                latitude_deg,
                ..self.place
            };
            SunTable::new(&place, counting, settings.directions, false).open_hours()
        };
        let spread = (hours(self.north_deg) - hours(self.south_deg)).abs();
        if spread > TOLD_HOURS {
            findings.warn(
                name,
                format!(
                    "open ground has {:.0} minutes a day more at one end of the area (latitude {:.2} to {:.2}) than at the other, and hours are reckoned for its middle",
                    spread * 60.0,
                    self.south_deg,
                    self.north_deg
                ),
            );
        }
    }
}

/// About how high the site lies; 0 where that is not known, which only thickens the air.
#[expect(clippy::cast_precision_loss, reason = "a few hundred samples")]
fn mean_height(grid: &Grid, place: &Place, elevation: &RasterPlan, metres_per_unit: f64) -> f64 {
    let source = &elevation.source;
    let read = source.read(&place.area, 16, 16, grid.crs(), elevation.resampling);
    let Ok(samples) = read else { return 0.0 };
    let known = samples
        .values()
        .iter()
        .map(|&value| f64::from(value) * metres_per_unit);
    let known: Vec<f64> = known
        .filter(|metres| (-500.0..9_000.0).contains(metres))
        .collect();
    if known.is_empty() {
        return 0.0;
    }
    known.iter().sum::<f64>() / known.len() as f64
}

/// What was used, for people.
fn notes(
    source: &SunSource,
    season: &Season,
    usual: bool,
    place: &sun_table::Place,
    table: &SunTable,
) -> Vec<String> {
    let settings = &source.settings;
    let by = if usual { " (the usual season here)" } else { "" };
    let hemisphere = if place.latitude_deg >= 0.0 { "N" } else { "S" };
    let mut notes = vec![
        format!(
            "direct sun from {} to {}{by} at {:.2} {hemisphere}, from {} W/m2 and {} degrees of height on: open level ground has {:.1} h/day",
            season.from,
            season.to,
            place.latitude_deg.abs(),
            settings.least_irradiance_w_m2,
            settings.least_sun_height_deg,
            table.open_hours()
        ),
        format!(
            "horizons in {} directions out to {} m, of {}; unknown heights there: {}",
            settings.directions,
            settings.reach_m,
            match &source.obstacles {
                None => "the ground alone".to_owned(),
                Some(obstacles) => format!("the ground and {}", obstacles.raster().layer.as_written),
            },
            match settings.unknown_heights {
                UnknownHeights::Missing => "hours missing",
                UnknownHeights::Open => "taken for open",
            }
        ),
    ];
    let gaps = if settings.slant {
        "fewer toward a low sun"
    } else {
        "the same for a low sun"
    };
    notes.push(match &source.canopy {
        None => "no canopy overhead".to_owned(),
        Some(canopy) => {
            let what = match canopy.foliage {
                Foliage::Cover => "the cover".to_owned(),
                Foliage::LeafArea { extinction } => format!("exp(-{extinction} x leaf area)"),
            };
            format!(
                "canopy of {}: gaps from {what}, of which {:.0} % counts in the season, {gaps}",
                canopy.raster.layer.as_written,
                settings.foliage_left * 100.0
            )
        }
    });
    notes
}
