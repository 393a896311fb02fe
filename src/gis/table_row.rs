//! Rows of layers and tables as they are written: plain values, and polygons in binary.

use std::borrow::Cow;

/// One value in a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'a> {
    /// Nothing known.
    Missing,
    /// Text.
    Text(Cow<'a, str>),
    /// A whole number.
    Integer(i64),
    /// A number; one that is not finite is written as missing.
    Real(f64),
}

/// One row: its values, a value for each column, and in a layer its polygon.
#[derive(Debug, Clone)]
pub struct Row<'a> {
    pub(super) wkb: Option<Vec<u8>>,
    pub(super) values: Vec<Value<'a>>,
}

impl<'a> Row<'a> {
    /// A row of a plain table.
    #[must_use]
    pub fn plain(values: Vec<Value<'a>>) -> Row<'a> {
        Row { wkb: None, values }
    }

    /// A row of a layer: with its outer ring and the rings of its holes in map
    /// coordinates, closed.
    #[must_use]
    pub fn polygon(exterior: &[(f64, f64)], holes: &[Vec<(f64, f64)>], values: Vec<Value<'a>>) -> Row<'a> {
        Row {
            wkb: Some(polygon_wkb(exterior, holes)),
            values,
        }
    }
}

/// A polygon as well-known binary, little endian (OGC 06-103r4, 8.2).
#[expect(
    clippy::cast_possible_truncation,
    reason = "GDAL takes at most 2 GB, far below 4 billion rings or points"
)]
fn polygon_wkb(exterior: &[(f64, f64)], holes: &[Vec<(f64, f64)>]) -> Vec<u8> {
    let points = exterior.len() + holes.iter().map(Vec::len).sum::<usize>();
    let mut wkb = Vec::with_capacity(9 + 4 * (1 + holes.len()) + 16 * points);
    wkb.push(1);
    wkb.extend(3u32.to_le_bytes());
    wkb.extend((1 + holes.len() as u32).to_le_bytes());
    for ring in std::iter::once(exterior).chain(holes.iter().map(Vec::as_slice)) {
        wkb.extend((ring.len() as u32).to_le_bytes());
        for &(x, y) in ring {
            wkb.extend(x.to_le_bytes());
            wkb.extend(y.to_le_bytes());
        }
    }
    wkb
}
