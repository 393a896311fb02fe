//! A coordinate reference system as plain text, so that it can go anywhere.

/// A coordinate reference system: its definition and its names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crs {
    /// The definition, as well-known text.
    pub wkt: String,
    /// The name for people: `NAD83 / UTM zone 15N`.
    pub name: String,
    /// The registered code, where it has one: `EPSG:26915`.
    pub code: Option<String>,
}

impl Crs {
    /// The code where there is one, else the name: how messages call it.
    #[must_use]
    pub fn label(&self) -> String {
        match &self.code {
            Some(code) => format!("{} ({code})", self.name),
            None => self.name.clone(),
        }
    }
}
