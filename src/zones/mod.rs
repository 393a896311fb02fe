//! Cells to regions, regions to zones, zones to polygons with species lists.
//! Does no input or output: sets of species come in row by row, zones go out.

mod error;
mod share;

mod cell_sets;
mod packed_book;
mod runs;
mod set_book;
mod set_runs;
mod species_codes;
mod vote;
mod voted_runs;

mod regions;

mod absorb;
mod cost;
mod pieces;
mod voted_sums;

mod fidelity;
mod listing;
mod members;
mod tally;

mod cut;
mod merge_log;
mod merge_rules;
mod merging;

pub mod outlines;

mod border_factor;
mod counts;
mod describe;
mod factor_cells;
mod ground;
mod ground_row;
mod packed_ground;
mod reasons;
mod species_sums;
mod tile_counts;
mod zone;

pub use absorb::{AbsorbedAgainstKeep, PhaseOne, absorb, absorbed_against_keep};
pub use border_factor::border_factors;
pub use cell_sets::CellLayout;
pub use cost::Cost;
pub use counts::Counts;
pub use cut::{Cut, CutNote, ZoneAssignment};
pub use describe::{Describer, SpeciesShares, ZoneSums};
pub use error::ZonesError;
pub use fidelity::Fidelity;
pub use ground::{FactorSums, GroundShape, MeasuredSums, ZoneGround};
pub use listing::ListingRules;
pub use members::Members;
pub use merge_log::MergeLog;
pub use merge_rules::MergeRules;
pub use merging::{Merge, MergeSequence, merge_zones};
pub use packed_ground::{GroundBook, PackedGround};
pub use reasons::{MetReasons, ReasonBook, Reasons};
pub use regions::{Border, Region, Regions, RegionsBuilder, borders_of};
pub use runs::RunRows;
pub use set_book::{SetBook, SetId};
pub use set_runs::RowOfRuns;
pub use share::Share;
pub use tally::{PackedTally, SpeciesCells, Tallies};
pub use tile_counts::{CountedZone, TileCounts, ZoneCounts};
pub use vote::{VoteRow, Voter};
pub use voted_runs::tell_runs;
pub use voted_sums::VotedSums;
pub use zone::{GroundValue, Listing, MaybeShare, Outline, Ring, Zone, ZoneSpecies};
