//! A zone as people meet it: its place, its ground and its species.

use std::fmt;
use std::sync::Arc;

use serde::Serialize;

use super::reasons::Reasons;
use crate::score::Class;

/// A piece of the site with one list of species.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// The number for people, from 1, north to south.
    pub number: u32,
    /// The id from the zone's place, which a later run keeps where it is the same.
    pub stable_id: String,
    /// Number of cells.
    pub cells: u64,
    /// Sum of the geodesic areas of the cells.
    pub area_m2: f64,
    /// Best class any listed species reaches; nothing when none is listed.
    pub best_class: Option<Class>,
    /// Share of cells times species that are unknown, 0 to 1.
    pub unknown_share: f64,
    /// Factors that keep most species off the list, worst first, by index into
    /// the project's factors.
    pub limited_by: Vec<usize>,
    /// The ground, one entry for each of the project's factors, in their order.
    pub ground: Vec<GroundValue>,
    /// The species of the catalogue, in the order of the zone's list: listed ones
    /// first. A describer gives all; those that no file shows may be left out.
    pub species: Vec<ZoneSpecies>,
    /// Whether the zone is smaller than the support of a factor that draws its
    /// border; the factor's index when it is.
    pub below_support_of: Option<usize>,
}

/// What a zone's cells say of one factor.
#[derive(Debug, Clone, PartialEq)]
pub enum GroundValue {
    /// Mean, least and greatest of the known values, in the factor's unit.
    Measured {
        /// Mean over the known cells; infinite where most of them lie beyond the reach
        /// of a distance.
        mean: f64,
        /// Least value.
        least: f32,
        /// Greatest value; infinite where a distance is beyond its reach.
        greatest: f32,
    },
    /// The most frequent class and the share of the known cells that has it.
    Class {
        /// Index of the class.
        class: u16,
        /// Share of the known cells, 0 to 1.
        share: f64,
    },
    /// Known in no cell of the zone.
    Missing,
}

/// How a species stands in a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Listing {
    /// Listed, and suits at least nine tenths of the known cells.
    Throughout,
    /// Listed: suits at least `list_share` of the known cells.
    Mostly,
    /// Suits less than that, but over a fifth.
    InParts,
    /// Suits a fifth or less.
    NotListed,
    /// Known on less than half of the zone.
    NotKnown,
    /// Suits enough to be listed, but is not documented here, and only documented species
    /// are asked for.
    NotDocumented,
}

impl Listing {
    /// Whether the species is on the zone's list.
    #[must_use]
    pub fn is_listed(self) -> bool {
        matches!(self, Listing::Throughout | Listing::Mostly)
    }

    /// The listing in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Listing::Throughout => "throughout",
            Listing::Mostly => "mostly",
            Listing::InParts => "in parts",
            Listing::NotListed => "not listed",
            Listing::NotKnown => "not known",
            Listing::NotDocumented => "suits, not documented",
        }
    }
}

/// One species in one zone. There are millions of them, so each takes little room.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSpecies {
    /// Share of the known cells that suit, 0 to 1; 0 when none is known.
    pub share: f64,
    /// Share of the zone's cells on which the species is known, 0 to 1.
    pub known_share: f64,
    /// Mean rating over the cells that suit, of a species that is listed or suits in
    /// parts; nothing otherwise.
    pub rating: MaybeShare,
    /// Share of the zone's soils that suit, 0 to 1, where soils of a map unit are rated
    /// one by one; nothing where they are not.
    pub soil_share: MaybeShare,
    /// Why it stands so.
    pub reasons: Arc<Reasons>,
    /// Index into the catalogue's species.
    pub species: u32,
    /// How it stands.
    pub listing: Listing,
    /// Class of that rating, else of the scores that keep it out; nothing when it is
    /// not known.
    pub class: Option<Class>,
}

impl ZoneSpecies {
    /// Index into the catalogue's species.
    #[must_use]
    pub fn index(&self) -> usize {
        self.species as usize
    }
}

/// A share from 0 to 1, or nothing, in the room of a number.
#[derive(Clone, Copy)]
pub struct MaybeShare(f64);

impl MaybeShare {
    /// No share.
    pub const NONE: MaybeShare = MaybeShare(f64::NAN);

    /// The share, if there is one.
    #[must_use]
    pub fn get(self) -> Option<f64> {
        (!self.0.is_nan()).then_some(self.0)
    }
}

impl From<Option<f64>> for MaybeShare {
    fn from(share: Option<f64>) -> MaybeShare {
        share.map_or(MaybeShare::NONE, MaybeShare)
    }
}

impl PartialEq for MaybeShare {
    fn eq(&self, other: &MaybeShare) -> bool {
        self.get() == other.get()
    }
}

impl fmt::Debug for MaybeShare {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        self.get().fmt(f)
    }
}

/// A closed ring of map coordinates (x, y), the last point equal to the first.
pub type Ring = Vec<(f64, f64)>;

/// The outline of one zone in one coordinate system.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// The outer ring, counter-clockwise.
    pub exterior: Ring,
    /// The rings of its holes, clockwise.
    pub holes: Vec<Ring>,
}
