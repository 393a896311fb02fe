//! Fills depressions and follows water, for the checks against other libraries: reads rows,
//! columns, the cell's side and the heights row by row, apart by blanks; prints for each cell
//! its filled height, its catchment in cells, its slope, and 1 where water may come from
//! beyond.

#![allow(clippy::print_stdout, reason = "printing is all it does")]

use std::io::Read;

use groundfit::site::terrain::{filling::fill, flow::flow};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let mut words = text.split_whitespace();
    let mut next = || words.next().ok_or("too few numbers");
    let (rows, cols): (usize, usize) = (next()?.parse()?, next()?.parse()?);
    let cell: f64 = next()?.parse()?;
    let heights: Vec<f32> = words.map(str::parse).collect::<Result<_, _>>()?;
    if heights.len() != rows * cols {
        return Err(format!("found {} heights, needed {rows} x {cols}", heights.len()).into());
    }
    let filled = fill(heights, rows, cols);
    let found = flow(&filled, cell);
    for index in 0..rows * cols {
        println!(
            "{},{},{},{}",
            f64::from(filled.heights[index]),
            found.cells[index],
            found.slopes[index],
            u8::from(found.beyond[index])
        );
    }
    Ok(())
}
