//! Grey pictures that stand in the page itself.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

/// A picture of one byte a pixel, row by row, as a `data:` address (PNG).
///
/// # Missing
/// Empty where there is no pixel.
pub(super) fn grey_picture(cols: usize, rows: usize, pixels: &[u8]) -> String {
    encoded(cols, rows, pixels).map_or_else(String::new, |bytes| {
        format!("data:image/png;base64,{}", STANDARD.encode(bytes))
    })
}

/// Nothing where there is no pixel; bytes in memory cannot fail otherwise.
fn encoded(cols: usize, rows: usize, pixels: &[u8]) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, u32::try_from(cols).ok()?, u32::try_from(rows).ok()?);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(pixels).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_come_back() {
        let pixels = [0, 50, 100, 150, 200, 250];
        let address = grey_picture(3, 2, &pixels);
        let (kind, text) = address.split_once(',').unwrap();
        assert_eq!(kind, "data:image/png;base64");
        let bytes = STANDARD.decode(text).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .unwrap();
        let mut read = vec![0; 6];
        let frame = reader.next_frame(&mut read).unwrap();
        assert_eq!(
            (frame.width, frame.height, read.as_slice()),
            (3, 2, pixels.as_slice())
        );
        assert_eq!(grey_picture(0, 0, &[]), "");
    }
}
