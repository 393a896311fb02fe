//! One tile of the grid read from all layers, and a band of tiles in parallel.

use std::collections::BTreeMap;

use super::SiteError;
use super::burn::Overlaps;
use super::factor_layer::{UnknownCodes, Unusable};
use super::possible::Impossible;
use super::site::Site;
use super::sun::ShadeMet;
use super::terrain::TerrainMet;
use crate::grid::{Raster, Window};

/// Why a cell is or is not to be rated: this value of [`TileValues::status`].
pub const TO_RATE: u8 = 0;
/// Outside the boundary.
pub const OUTSIDE: u8 = 1;
/// Excluded by the first exclude layer; the following ones count on from here.
pub const EXCLUDED: u8 = 2;

/// The values of one band, or of one tile.
#[derive(Debug)]
pub struct TileValues {
    /// The band, or the tile.
    pub window: Window,
    /// One raster a factor, in the project's order.
    pub factors: Vec<Raster<f32>>,
    /// [`TO_RATE`], [`OUTSIDE`], or [`EXCLUDED`] and up.
    pub status: Raster<u8>,
    /// 1 where polygons of a layer overlap, by the layer's number; only for layers that
    /// do so in this tile.
    pub overlapping: BTreeMap<usize, Raster<u8>>,
    /// What was met on the way.
    pub met: Met,
}

/// Odd things met while reading, with their counts.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Met {
    /// By polygon layer.
    pub overlaps: BTreeMap<usize, Overlaps>,
    /// By factor.
    pub unknown_codes: BTreeMap<usize, UnknownCodes>,
    /// By factor.
    pub impossible: BTreeMap<usize, Impossible>,
    /// By factor that is computed from heights. A height at the edge of a tile is read,
    /// and counted, by its neighbour too.
    pub heights: BTreeMap<usize, Impossible>,
    /// By factor of sunlight.
    pub shade: BTreeMap<usize, ShadeMet>,
    /// By factor of the ground's shape.
    pub terrain: BTreeMap<usize, TerrainMet>,
}

impl TileValues {
    /// The values of all factors in one row, counted from the tile's first.
    #[must_use]
    pub fn row(&self, row: usize) -> Vec<&[f32]> {
        self.factors.iter().map(|raster| raster.row(row)).collect()
    }
}

impl Met {
    /// Adds what was met elsewhere.
    pub fn add(&mut self, other: &Met) {
        for (&layer, overlaps) in &other.overlaps {
            self.overlaps.entry(layer).or_default().add(overlaps);
        }
        for (&factor, codes) in &other.unknown_codes {
            let counts = self.unknown_codes.entry(factor).or_default();
            for (&code, cells) in codes {
                *counts.entry(code).or_default() += cells;
            }
        }
        for (&factor, found) in &other.impossible {
            self.impossible.entry(factor).or_default().add(found);
        }
        for (&factor, found) in &other.heights {
            self.heights.entry(factor).or_default().add(found);
        }
        for (&factor, found) in &other.shade {
            self.shade.entry(factor).or_default().add(found);
        }
        for (&factor, found) in &other.terrain {
            self.terrain.entry(factor).or_default().add(found);
        }
    }
}

impl Site {
    /// Reads all factors in one of the grid's fixed tiles; any number of threads may
    /// read tiles at once, in any order, and the same values come. It is fastest to go
    /// over the tiles from north to south, each taken by the next thread that is free:
    /// then every block of a raster that lies on the grid is decoded once.
    ///
    /// # Errors
    /// When a layer cannot be read.
    pub fn read_tile(&self, window: Window) -> Result<TileValues, SiteError> {
        if !self.can_be_read {
            return Err(SiteError::LayersGone);
        }
        if let Some(tile) = self.kept.tile(window) {
            return Ok(tile);
        }
        let tile = self.read_layers(window)?;
        self.kept.keep(&tile);
        Ok(tile)
    }

    fn read_layers(&self, window: Window) -> Result<TileValues, SiteError> {
        let mut status = Raster::filled(window, OUTSIDE);
        self.boundary().each_run(window, |row, cols, _| {
            status.row_mut(row)[cols].fill(TO_RATE);
        });
        let mut met = Met::default();
        let missing = || Raster::filled(window, f32::NAN);
        let mut factors = Vec::with_capacity(self.factors().len());
        if status.values().iter().all(|&status| status == OUTSIDE) {
            factors.resize_with(self.factors().len(), missing);
            return Ok(TileValues {
                window,
                factors,
                status,
                overlapping: BTreeMap::new(),
                met,
            });
        }
        for (exclude, code) in self.excludes().iter().zip(EXCLUDED..) {
            for (status, &covered) in status
                .values_mut()
                .iter_mut()
                .zip(exclude.covers(window)?.values())
            {
                if covered == 1 && *status == TO_RATE {
                    *status = code;
                }
            }
        }
        let mut overlapping = BTreeMap::new();
        for (number, layer) in self.polygon_layers().iter().enumerate() {
            if let Some((overlaps, mask)) = layer.index.overlaps(window) {
                met.overlaps.insert(number, overlaps);
                overlapping.insert(number, mask);
            }
        }
        for (index, layer) in self.layers().iter().enumerate() {
            let mut unusable = Unusable::default();
            factors.push(layer.values(self.grid(), window, &status, self.polygon_layers(), &mut unusable)?);
            if !unusable.codes.is_empty() {
                met.unknown_codes.insert(index, unusable.codes);
            }
            if unusable.heights.count > 0 {
                met.heights.insert(index, unusable.heights);
            }
            if unusable.shade != ShadeMet::default() {
                met.shade.insert(index, unusable.shade);
            }
            if unusable.terrain != TerrainMet::default() {
                met.terrain.insert(index, unusable.terrain);
            }
            if unusable.impossible.count > 0 {
                met.impossible.insert(index, unusable.impossible);
            }
        }
        factors.resize_with(self.factors().len(), missing);
        if let Some(survey) = self.survey() {
            survey.finish(window, &mut factors);
        }
        // Last, since the salt of the ground follows from its drainage.
        self.add_road_salt(window, &mut factors, &mut met)?;
        Ok(TileValues {
            window,
            factors,
            status,
            overlapping,
            met,
        })
    }
}
