//! The tables of a soil survey and what their columns are called: those of the national
//! soil survey of the United States unless the project names its own.

use super::unknown_column;
use crate::nearest::quoted;
use crate::project::table::Table;
use crate::project::value::describe;

/// A table of a soil survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SurveyTable {
    /// The polygons of map units.
    Polygons,
    /// Map units.
    Units,
    /// The soils of map units.
    Components,
    /// Horizons of soils.
    Horizons,
    /// Months of soils: flooding and ponding.
    Months,
    /// Layers of a month with how wet they are.
    WetLayers,
    /// Layers that stop roots.
    Restrictions,
}

/// One table: what the project file calls it, its usual name, and its columns: the word
/// for each and its usual name.
struct Shape {
    table: SurveyTable,
    key: &'static str,
    usual: Option<&'static str>,
    columns: &'static [(&'static str, Option<&'static str>)],
}

/// The structure of the national soil survey of the United States, as its tables are
/// published.
const SHAPES: [Shape; 7] = [
    Shape {
        table: SurveyTable::Polygons,
        key: "map_units",
        usual: None,
        columns: &[
            ("unit", Some("mukey")),
            ("symbol", Some("musym")),
            ("survey_area", Some("areasymbol")),
            ("edition", None),
            ("made", None),
        ],
    },
    Shape {
        table: SurveyTable::Units,
        key: "units",
        usual: Some("mapunit"),
        columns: &[
            ("unit", Some("mukey")),
            ("symbol", Some("musym")),
            ("name", Some("muname")),
            ("edition", None),
        ],
    },
    Shape {
        table: SurveyTable::Components,
        key: "components",
        usual: Some("component"),
        columns: &[
            ("unit", Some("mukey")),
            ("component", Some("cokey")),
            ("share_pct", Some("comppct_r")),
            ("name", Some("compname")),
            ("kind", Some("compkind")),
            ("drainage", Some("drainagecl")),
            ("flooding", None),
            ("ponding", None),
            ("water_table_cm", None),
            ("root_depth_cm", None),
        ],
    },
    Shape {
        table: SurveyTable::Horizons,
        key: "horizons",
        usual: Some("chorizon"),
        columns: &[
            ("component", Some("cokey")),
            ("top_cm", Some("hzdept_r")),
            ("bottom_cm", Some("hzdepb_r")),
            ("sand_pct", Some("sandtotal_r")),
            ("silt_pct", Some("silttotal_r")),
            ("clay_pct", Some("claytotal_r")),
            ("organic_matter_pct", Some("om_r")),
            ("ph", Some("ph1to1h2o_r")),
            ("salinity_ds_m", Some("ec_r")),
            ("carbonates_pct", Some("caco3_r")),
            ("available_water", Some("awc_r")),
        ],
    },
    Shape {
        table: SurveyTable::Months,
        key: "months",
        usual: Some("comonth"),
        columns: &[
            ("component", Some("cokey")),
            ("month", Some("comonthkey")),
            ("flooding", Some("flodfreqcl")),
            ("ponding", Some("pondfreqcl")),
        ],
    },
    Shape {
        table: SurveyTable::WetLayers,
        key: "wet_layers",
        usual: Some("cosoilmoist"),
        columns: &[
            ("month", Some("comonthkey")),
            ("top_cm", Some("soimoistdept_r")),
            ("status", Some("soimoiststat")),
        ],
    },
    Shape {
        table: SurveyTable::Restrictions,
        key: "restrictions",
        usual: Some("corestrictions"),
        columns: &[("component", Some("cokey")), ("top_cm", Some("resdept_r"))],
    },
];

/// What the tables and columns of a survey are called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns {
    /// The name of each table that there is; the polygons have none.
    tables: Vec<(SurveyTable, String)>,
    /// The name of each column, and whether the project gave it.
    columns: Vec<(SurveyTable, &'static str, String, bool)>,
}

impl Columns {
    /// The name of a table.
    ///
    /// # Missing
    /// The survey has no such table.
    #[must_use]
    pub fn table(&self, table: SurveyTable) -> Option<&str> {
        let found = self.tables.iter().find(|(known, _)| *known == table);
        found.map(|(_, name)| name.as_str())
    }

    /// The name of a column, by the word for it.
    ///
    /// # Missing
    /// The survey has no such column.
    #[must_use]
    pub fn column(&self, table: SurveyTable, word: &str) -> Option<&str> {
        let found = self.columns.iter();
        let mut found = found.filter(|(known, column, ..)| *known == table && *column == word);
        found.next().map(|(_, _, name, _)| name.as_str())
    }

    /// Whether the project itself names a column: then it must be there.
    #[must_use]
    pub fn is_given(&self, table: SurveyTable, word: &str) -> bool {
        let mut given = self.columns.iter().filter(|(.., given)| *given);
        given.any(|(known, column, ..)| *known == table && *column == word)
    }

    /// What the project file calls a table.
    #[must_use]
    pub fn key(table: SurveyTable) -> &'static str {
        let shape = SHAPES.iter().find(|shape| shape.table == table);
        shape.map_or("", |shape| shape.key)
    }

    /// The usual columns of the survey of the United States.
    #[must_use]
    pub fn united_states() -> Columns {
        let mut columns = Columns {
            tables: Vec::new(),
            columns: Vec::new(),
        };
        for shape in &SHAPES {
            columns
                .tables
                .extend(shape.usual.map(|name| (shape.table, name.to_owned())));
            let usual = shape
                .columns
                .iter()
                .filter_map(|&(word, usual)| Some((shape.table, word, usual?.to_owned(), false)));
            columns.columns.extend(usual);
        }
        columns
    }

    pub(super) fn read(table: &Table, with_usual: bool) -> Option<Columns> {
        let mut columns = if with_usual {
            Columns::united_states()
        } else {
            Columns {
                tables: Vec::new(),
                columns: Vec::new(),
            }
        };
        let mut sound = true;
        for shape in &SHAPES {
            if let Some(own) = table.table(shape.key) {
                sound &= columns.read_table(shape, &own);
            }
        }
        if !with_usual {
            sound &= columns.check(table);
        }
        sound.then_some(columns)
    }

    fn read_table(&mut self, shape: &Shape, own: &Table) -> bool {
        let mut sound = true;
        let known: Vec<&str> = std::iter::once("table")
            .filter(|_| shape.table != SurveyTable::Polygons)
            .chain(shape.columns.iter().map(|(word, _)| *word))
            .collect();
        for item in own.named_items() {
            let (key, value) = item.value;
            let Some(name) = value.as_str().map(str::trim).filter(|name| !name.is_empty()) else {
                item.spot
                    .problem(format!("found {}, needed a name in quotes", describe(value)));
                sound = false;
                continue;
            };
            let column = shape.columns.iter().find(|(word, _)| *word == key);
            match column {
                _ if key == "table" && known.contains(&key) => {
                    self.tables.retain(|(table, _)| *table != shape.table);
                    self.tables.push((shape.table, name.to_owned()));
                }
                Some((word, _)) => {
                    self.columns
                        .retain(|(table, column, ..)| (*table, *column) != (shape.table, *word));
                    self.columns.push((shape.table, word, name.to_owned(), true));
                }
                None => {
                    unknown_column(&item.spot, key, &known);
                    sound = false;
                }
            }
        }
        sound
    }

    /// Whether a survey of its own structure names what cannot be done without.
    fn check(&self, table: &Table) -> bool {
        let mut sound = true;
        let mut need = |which: SurveyTable, word: &str, needed: bool| {
            if needed && self.column(which, word).is_none() {
                table.spot.problem(format!(
                    "`{}` of {} is missing; a survey with `structure = \"own\"` must name that column",
                    word,
                    quoted(Columns::key(which))
                ));
                sound = false;
            }
        };
        need(SurveyTable::Polygons, "unit", true);
        need(SurveyTable::Components, "unit", true);
        need(SurveyTable::Components, "share_pct", true);
        for (which, words) in [
            (SurveyTable::Units, &["unit"] as &[&str]),
            (SurveyTable::Horizons, &["component", "top_cm", "bottom_cm"]),
            (SurveyTable::Months, &["component"]),
            (SurveyTable::WetLayers, &["month", "top_cm"]),
            (SurveyTable::Restrictions, &["component", "top_cm"]),
        ] {
            for word in words {
                need(which, word, self.table(which).is_some());
            }
        }
        let has_soils = [
            SurveyTable::Horizons,
            SurveyTable::Months,
            SurveyTable::Restrictions,
        ];
        let has_soils = has_soils.iter().any(|&which| self.table(which).is_some());
        need(SurveyTable::Components, "component", has_soils);
        need(
            SurveyTable::Months,
            "month",
            self.table(SurveyTable::WetLayers).is_some(),
        );
        if self.table(SurveyTable::Components).is_none() {
            table.spot.problem(
                "found no `[soil_survey.components]` with `table`, needed the table of the soils of map units",
            );
            sound = false;
        }
        sound
    }
}
