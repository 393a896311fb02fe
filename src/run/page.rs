//! The page of a run: from what the stages hold to the plain numbers and texts that
//! `report` shows.

mod borders;
mod factors;
mod map;
mod method;
mod species;
mod texts;
mod zones;

use super::drawn::Drawn;
use super::found_and_needed::ZoneNeeds;
use super::not_rated_picture::NotRatedPicture;
use super::prepared::Prepared;
use super::settings::ZoneSettings;
use super::spread::Spread;
use crate::error::Error;
use crate::factor::Units;
use crate::grid::Grid;
use crate::output::{RowChoice, RunRecord, factors_counted};
use crate::project::Project;
use crate::report::{GridData, LATTICE, Page, PageData, SiteAreasData};
use crate::score::Class;
use crate::zones::Listing;
use crate::zones::outlines::SharedBorders;

pub use borders::PageBorders;
use species::SourcePlaces;
use texts::Texts;

/// With more zones than this a page is slow to open on a phone.
pub const MOST_ZONES: u64 = 30_000;

/// Whether a page is written of so many zones.
pub fn is_written(project: &Project, zones: u64) -> bool {
    project.outputs.report && zones <= MOST_ZONES
}

/// What the page needs beyond what the files hold.
pub struct ForPage {
    /// Borders, simplified for the page.
    pub borders: SharedBorders,
    /// By how many metres.
    pub simplify_m: f64,
    /// Areas of each species.
    pub areas: Vec<super::species_areas::SpeciesArea>,
    /// How each factor is spread.
    pub spreads: Vec<Spread>,
}

/// All that a page is made of.
pub struct PageParts<'a> {
    /// What was read.
    pub prepared: &'a Prepared<'a>,
    /// Where ground is not rated, where that is known.
    pub not_rated: Option<&'a NotRatedPicture>,
    /// The zones.
    pub drawn: &'a Drawn,
    /// What only the page shows.
    pub for_page: &'a ForPage,
    /// How zones were made.
    pub settings: &'a ZoneSettings,
    /// What is found and needed.
    pub needs: &'a ZoneNeeds<'a>,
    /// The record of the run.
    pub record: &'a RunRecord,
}

/// The page of a run.
///
/// # Errors
/// Layers behind the map that can no longer be read; places that cannot be brought to
/// longitude and latitude.
pub fn page(parts: &PageParts) -> Result<Page, Error> {
    let mut sources = SourcePlaces::new(&parts.prepared.catalogue);
    let species = species::species(parts, &mut sources);
    let mut texts = Texts::default();
    let zones = zones::zones(parts, &mut texts);
    let data = PageData {
        units: match parts.prepared.project.units {
            Units::Metric => "metric",
            Units::Us => "us",
        },
        grid: grid(parts.prepared.site.grid())?,
        classes: CLASSES.map(|class| (class.to_string(), class.words())).to_vec(),
        wanted: class_place(parts.prepared.settings.at_least),
        listings: LISTINGS.map(Listing::words).to_vec(),
        of_factors: factors_counted(parts.prepared.site.factors()),
        factors: factors::factors(parts),
        species,
        zones: zones.columns,
        standings: zones.standings,
        texts: texts.finish(),
        rows_left_out: parts.drawn.choice != RowChoice::All,
        map: map::map(parts)?,
        areas: site_areas(parts),
    };
    Ok(method::page(parts, sources.citations(), data))
}

const CLASSES: [Class; 5] = [Class::S1, Class::S2, Class::S3, Class::N1, Class::N2];

const LISTINGS: [Listing; 6] = [
    Listing::Throughout,
    Listing::Mostly,
    Listing::InParts,
    Listing::NotListed,
    Listing::NotKnown,
    Listing::NotDocumented,
];

fn class_place(class: Class) -> usize {
    CLASSES.iter().position(|other| *other == class).unwrap_or(0)
}

/// A share in thousandths; neither 0 nor 1000 when it is not quite.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a share lies within 0 to 1"
)]
fn thousandths(share: f64) -> u32 {
    match share {
        share if share <= 0.0 => 0,
        share if share >= 1.0 => 1000,
        share => ((share * 1000.0 + 1e-7).floor() as u32).clamp(1, 999),
    }
}

/// A number with fewer decimals, so that the page stays small.
fn shortened(value: f64, decimals: i32) -> f64 {
    let factor = 10f64.powi(decimals);
    (value * factor).round() / factor
}

fn grid(grid: &Grid) -> Result<GridData, Error> {
    let steps = 0..=LATTICE;
    let places = steps
        .clone()
        .flat_map(|down| steps.clone().map(move |along| (down, along)));
    let extent = grid.extent();
    #[expect(clippy::cast_precision_loss, reason = "a few steps")]
    let mut points: Vec<(f64, f64)> = places
        .map(|(down, along)| {
            let (down, along) = (down as f64 / LATTICE as f64, along as f64 / LATTICE as f64);
            (
                extent.west + along * (extent.east - extent.west),
                extent.north - down * (extent.north - extent.south),
            )
        })
        .collect();
    let to_degrees = crate::gis::Transform::untold(grid.crs(), &crate::gis::lon_lat()?)?;
    to_degrees.apply(&mut points)?;
    let code = grid.crs().code.as_deref();
    Ok(GridData {
        crs: code.map_or_else(
            || grid.crs().name.clone(),
            |code| format!("{} ({code})", grid.crs().name),
        ),
        west: extent.west,
        north: extent.north,
        cell_m: grid.cell_m(),
        rows: grid.rows(),
        cols: grid.cols(),
        lon_lat: points
            .into_iter()
            .map(|(lon, lat)| (shortened(lon, 7), shortened(lat, 7)))
            .collect(),
    })
}

/// Areas of the site; what limits is told by area and species.
fn site_areas(parts: &PageParts) -> SiteAreasData {
    let mut by_class = vec![0.0; CLASSES.len() + 1];
    for zone in &parts.drawn.zones {
        by_class[zone.best_class.map_or(CLASSES.len(), class_place)] += zone.area_m2;
    }
    let factors = parts.prepared.site.factors().len();
    let of_factor = |factor: usize| parts.for_page.areas.iter().map(|area| area.limited[factor]).sum();
    SiteAreasData {
        rated: shortened(by_class.iter().sum(), 1),
        by_class: by_class.into_iter().map(|area| shortened(area, 1)).collect(),
        limited: (0..factors)
            .map(of_factor)
            .map(|area| shortened(area, 0))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_cut_and_never_become_all_or_nothing() {
        let shares = [0.0, 0.0004, 0.0015, 0.57, 0.9999, 1.0];
        assert_eq!(shares.map(thousandths), [0, 1, 1, 570, 999, 1000]);
    }

    #[test]
    fn places_of_classes_are_those_of_the_list() {
        assert_eq!(CLASSES.map(class_place), [0, 1, 2, 3, 4]);
    }
}
