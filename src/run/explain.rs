//! Why a species does or does not suit at one place: every score, the value found
//! and the value needed.

use super::explanation::{AnswerHere, Explanation, GroundHere, RangeHere, SoilRated, SpeciesHere, Why};
use super::prepared::Prepared;
use crate::error::Error;
use crate::gis::{self, Transform};
use crate::grid::{CellIndex, TILE_CELLS, Window};
use crate::output::order::{ListKey, list_order};
use crate::range::Standing;
use crate::rating::{
    Answer, Gap, Needs, Question, Rating, Silence, SoilState, SoilVerdict, State, found_text, rate,
};
use crate::site::{EXCLUDED, OUTSIDE, TO_RATE};

impl Prepared<'_> {
    /// Explains all species at a place, or only the one named.
    ///
    /// # Errors
    /// A place outside the grid, a species that is not there, a layer that cannot be
    /// read.
    pub fn explain(&self, why: Why, only: Option<&str>) -> Result<Explanation, Error> {
        let grid = self.site.grid();
        let lon_lat = gis::lon_lat()?;
        let mut here = [(why.x, why.y)];
        if why.lon_lat {
            Transform::untold(&lon_lat, grid.crs())?.apply(&mut here)?;
        }
        let (x, y) = here[0];
        let extent = grid.extent();
        let cell = grid.map_to_cell(x, y).ok_or_else(|| Error::OutsideGrid {
            place: format!("{}, {}", why.x, why.y),
            west: extent.west,
            east: extent.east,
            south: extent.south,
            north: extent.north,
            crs: grid.crs().label(),
        })?;
        let mut degrees = [(x, y)];
        Transform::untold(grid.crs(), &lon_lat)?.apply(&mut degrees)?;
        let (values, status) = self.values_at(cell)?;
        let chosen: Vec<usize> = match only {
            None => (0..self.catalogue.species.len()).collect(),
            Some(name) => vec![self.species_named(name)?],
        };
        let ranges = self.range.as_ref().map(|range| range.at(grid, cell));
        let needs = Needs::new(&self.questions, self.project.units);
        let mut species: Vec<(usize, SpeciesHere)> = chosen
            .into_iter()
            .map(|index| {
                let mut here = self.species_here(&needs, index, &values);
                here.range = ranges.as_ref().and_then(|ranges| self.range_here(ranges[index]));
                (index, here)
            })
            .collect();
        species.sort_by(|one, other| list_order(&self.list_key(one), &self.list_key(other)));
        let ground = self
            .site
            .factors()
            .iter()
            .zip(&values)
            .zip(self.site.behind(cell, &values)?)
            .map(|((factor, &value), behind)| GroundHere {
                factor: factor.id.clone(),
                found: found_text(factor, value, self.project.units),
                value: value.is_finite().then_some(value),
                behind,
                from: self.site.notes_of(&factor.id),
            });
        Ok(Explanation {
            x,
            y,
            lon: degrees[0].0,
            lat: degrees[0].1,
            crs: grid.crs().label(),
            row: cell.row,
            col: cell.col,
            not_rated: match status {
                TO_RATE => None,
                OUTSIDE => Some("outside the boundary".to_owned()),
                code => self
                    .site
                    .exclude_names()
                    .nth(usize::from(code - EXCLUDED))
                    .map(|name| format!("excluded: {name}")),
            },
            ground: ground.collect(),
            soil: self.site.soil_here(cell, &values),
            species: species.into_iter().map(|(_, here)| here).collect(),
        })
    }

    /// The index of the species so called.
    ///
    /// # Errors
    /// When there is none.
    pub fn species_named(&self, name: &str) -> Result<usize, Error> {
        self.catalogue.index_of(name).ok_or_else(|| {
            let near = self.catalogue.nearest_ids(name);
            Error::NoSuchSpecies {
                asked: name.to_owned(),
                near: if near.is_empty() {
                    String::new()
                } else {
                    format!("; nearest: {}", near.join(", "))
                },
            }
        })
    }

    /// The values of one cell: its tile is read as a run reads it, so that the values
    /// are the same.
    fn values_at(&self, cell: CellIndex) -> Result<(Vec<f32>, u8), Error> {
        let grid = self.site.grid();
        let (row, col) = (
            cell.row / TILE_CELLS * TILE_CELLS,
            cell.col / TILE_CELLS * TILE_CELLS,
        );
        let tile = Window {
            row,
            col,
            rows: TILE_CELLS.min(grid.rows() - row),
            cols: TILE_CELLS.min(grid.cols() - col),
        };
        let band = self.site.read_tile(tile)?;
        let within = CellIndex {
            row: cell.row - row,
            col: cell.col - col,
        };
        let values = band
            .factors
            .iter()
            .map(|raster| raster.get(within).unwrap_or(f32::NAN))
            .collect();
        Ok((values, band.status.get(within).unwrap_or(OUTSIDE)))
    }

    /// The place in the list: as in a zone's, but one place cannot tell how much of the
    /// site a species suits.
    fn list_key<'k>(&'k self, (index, here): &'k (usize, SpeciesHere)) -> ListKey<'k> {
        ListKey {
            class: here.class,
            form: self.catalogue.species[*index].form,
            suited_cells: 0,
            rating: here.rating,
            name: &here.scientific_name,
        }
    }

    fn species_here(&self, needs: &Needs, index: usize, values: &[f32]) -> SpeciesHere {
        let species = &self.catalogue.species[index];
        let rating = rate(&self.questions, &self.settings, index, values);
        let class = rating.class(&self.settings);
        let (number, rests_on) = match &rating {
            Rating::Known { rating, rests_on, .. } => (Some(*rating), *rests_on),
            Rating::Unknown { .. } => (None, 0),
        };
        let state = rating.state(&self.settings);
        let answers = self.questions.questions().iter();
        SpeciesHere {
            id: species.id.clone(),
            common_name: species.common_name.clone(),
            scientific_name: species.scientific_name.clone(),
            state: match state {
                State::Suits => "suits",
                State::DoesNot => "does not suit",
                State::Unknown => "not known",
            },
            class,
            rating: number,
            rests_on,
            of: self.questions.asked(),
            range: None,
            answers: answers
                .map(|question| self.answer_here(needs, index, question, values))
                .collect(),
        }
    }

    fn range_here(&self, standing: Standing) -> Option<RangeHere> {
        let words = self.range.as_ref()?.record_words(self.project.units);
        Some(RangeHere {
            documented: standing.documented.words(),
            nearest_record: words.text_at_place(standing.nearest),
            nearest_record_m: standing.nearest.map(|nearest| nearest.metres),
        })
    }

    fn answer_here(&self, needs: &Needs, species: usize, question: &Question, values: &[f32]) -> AnswerHere {
        if let Some(verdict) = self.questions.soil_verdict(species, question, values) {
            return self.soils_here(species, question, values, verdict);
        }
        let answer = self.questions.answer(species, question, values);
        let (factor, score, note) = match answer {
            Answer::Scored { factor, score } => (factor, Some(score.get()), None),
            Answer::Harmless { factor, told } => {
                let note = if told {
                    "not counted: it harms no plant, but the profile has no opinion"
                } else {
                    "not counted: it harms no plant"
                };
                (factor, None, Some(note))
            }
            Answer::Silent { factor, silence } => {
                let note = match silence {
                    Silence::NoOpinion => "not counted: no opinion, and it is only helpful",
                    Silence::Ignored => "not counted: no value, which the project has ignored",
                };
                (factor, None, Some(note))
            }
            Answer::Unknown { factor, gap } => {
                let note = match gap {
                    Gap::Value => "unknown: the ground has no value",
                    Gap::Opinion => "unknown: the profile has no opinion",
                    Gap::Case => "unknown: the profile has no opinion on this case",
                };
                (factor, None, Some(note))
            }
        };
        let limits = score.is_some_and(|score| score < self.settings.wanted());
        let needed = limits.then(|| {
            needs
                .text(species, factor, values, self.settings.wanted())
                .unwrap_or_else(|| "nothing this factor can give".to_owned())
        });
        AnswerHere {
            factor: self.site.factors()[factor].id.clone(),
            found: found_text(&self.site.factors()[factor], values[factor], self.project.units),
            score,
            limits,
            needed,
            note,
            soils: Vec::new(),
        }
    }

    /// The answer of all soils of the map unit together.
    fn soils_here(
        &self,
        species: usize,
        question: &Question,
        values: &[f32],
        verdict: SoilVerdict,
    ) -> AnswerHere {
        let (score, note) = match self.questions.answer(species, question, values) {
            Answer::Scored { score, .. } => (Some(score.get()), None),
            Answer::Unknown { .. } => (None, Some("unknown: too much of it is not known")),
            Answer::Harmless { .. } | Answer::Silent { .. } => {
                (None, Some("not counted: no opinion on what its soils have"))
            }
        };
        let per_cent = |share: f64| share * 100.0;
        let unknown = if verdict.unknown > 0.0 {
            format!(", {:.0} % is not known", per_cent(verdict.unknown))
        } else {
            String::new()
        };
        let limits = score.is_some_and(|score| score < self.settings.wanted());
        let wanted = self.settings.wanted();
        let soil = |(name, share, state): (Option<String>, f64, SoilState)| {
            let id = |factor: usize| self.site.factors()[factor].id.clone();
            let (state, score, factor) = match state {
                SoilState::Rated(score, factor) if score.get() >= wanted => {
                    ("suits", Some(score.get()), Some(id(factor)))
                }
                SoilState::Rated(score, factor) => ("does not suit", Some(score.get()), Some(id(factor))),
                SoilState::Unlimited => ("suits", None, None),
                SoilState::Unknown(factor, _) => ("not known", None, Some(id(factor))),
            };
            SoilRated {
                name,
                share,
                state,
                score,
                factor,
            }
        };
        let mut soils: Vec<SoilRated> = verdict.soils.into_iter().map(soil).collect();
        soils.sort_by(|one, other| other.share.total_cmp(&one.share));
        AnswerHere {
            factor: "soils".to_owned(),
            found: format!("{:.0} % of this unit suits{unknown}", per_cent(verdict.suits)),
            score,
            limits,
            needed: limits.then(|| format!("{:.0} % of it", per_cent(verdict.needed))),
            note,
            soils,
        }
    }
}

#[cfg(test)]
#[path = "explain_tests.rs"]
mod tests;
