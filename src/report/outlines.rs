//! Lines as short lists of whole numbers: the first point, then steps from point to
//! point.

use serde::ser::SerializeSeq;
use serde::{Serialize, Serializer};

/// A line of points (column, row).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Course(pub Vec<(i32, i32)>);

/// A walk along borders: twice the border's number, plus one where it is walked
/// backward.
pub type Ring = Vec<u32>;

impl Serialize for Course {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut list = serializer.serialize_seq(Some(self.0.len() * 2))?;
        let (mut col, mut row) = (0, 0);
        for &(next_col, next_row) in &self.0 {
            list.serialize_element(&(next_col - col))?;
            list.serialize_element(&(next_row - row))?;
            (col, row) = (next_col, next_row);
        }
        list.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_written_as_steps() {
        let course = Course(vec![(10, 20), (10, 25), (7, 25)]);
        assert_eq!(serde_json::to_string(&course).unwrap(), "[10,20,0,5,-3,0]");
    }
}
