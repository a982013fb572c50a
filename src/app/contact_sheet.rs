//! Many pictures on one: each made smaller by a whole factor, side by side in rows.

/// A picture: red, green, blue and opacity a point, row after row from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Picture {
    /// Points in a row.
    pub(super) width: usize,
    /// Rows.
    pub(super) height: usize,
    /// Four bytes a point.
    pub(super) bytes: Vec<u8>,
}

/// Bytes of a point.
const POINT: usize = 4;
/// The ground between the pictures.
const GROUND: u8 = 0x80;
/// Points between two pictures.
const GAP: usize = 8;
/// A sheet is about as wide as this many points.
const WIDE: usize = 1600;

impl Picture {
    /// Makes a picture that is nothing but ground.
    fn ground(width: usize, height: usize) -> Self {
        let point = [GROUND, GROUND, GROUND, u8::MAX];
        Self { width, height, bytes: point.repeat(width * height) }
    }

    /// Makes it smaller: each square of `factor` × `factor` points becomes their mean. What is left over at the right and
    /// the lower edge is left out.
    pub(super) fn smaller(&self, factor: usize) -> Self {
        let factor = factor.max(1);
        let (width, height) = (self.width / factor, self.height / factor);
        let mut bytes = Vec::with_capacity(width * height * POINT);
        for (y, x) in (0..height).flat_map(|y| (0..width).map(move |x| (y, x))) {
            for part in 0..POINT {
                let square = (0..factor).flat_map(|down| (0..factor).map(move |across| (down, across)));
                let sum: usize = square
                    .map(|(down, across)| ((y * factor + down) * self.width + x * factor + across) * POINT + part)
                    .map(|place| self.bytes.get(place).copied().map_or(0, usize::from))
                    .sum();
                bytes.push(u8::try_from(sum / (factor * factor)).unwrap_or(u8::MAX));
            }
        }
        Self { width, height, bytes }
    }

    /// Copies a picture in, its upper left corner there. It must lie inside.
    fn put(&mut self, other: &Self, left: usize, top: usize) {
        for row in 0..other.height {
            let from = row * other.width * POINT..(row + 1) * other.width * POINT;
            let start = ((top + row) * self.width + left) * POINT;
            let to = start..start + other.width * POINT;
            if let (Some(source), Some(target)) = (other.bytes.get(from), self.bytes.get_mut(to)) {
                target.copy_from_slice(source);
            }
        }
    }
}

/// Returns the factor that makes a picture of this width about 180 points wide.
pub(super) const fn factor_for(width: usize) -> usize {
    let factor = (width + 90) / 180;
    if factor == 0 { 1 } else { factor }
}

/// Lays pictures of one size out in rows, in their order from left to right and from the top.
pub(super) fn sheet(pictures: &[Picture]) -> Picture {
    let Some(first) = pictures.first() else { return Picture::ground(1, 1) };
    let columns = ((WIDE - GAP) / (first.width + GAP)).clamp(1, pictures.len());
    let rows = pictures.len().div_ceil(columns);
    let mut sheet = Picture::ground(GAP + columns * (first.width + GAP), GAP + rows * (first.height + GAP));
    for (index, picture) in pictures.iter().enumerate() {
        let (row, column) = (index / columns, index % columns);
        sheet.put(picture, GAP + column * (first.width + GAP), GAP + row * (first.height + GAP));
    }
    sheet
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(width: usize, height: usize, shade: u8) -> Picture {
        Picture { width, height, bytes: vec![shade; width * height * POINT] }
    }

    #[test]
    fn a_smaller_picture_has_the_mean_of_each_square() {
        let mut picture = plain(4, 2, 0);
        // The left square is half 0 and half 200, the right one all 40.
        for (place, shade) in [(0, 200), (5, 200), (2, 40), (3, 40), (6, 40), (7, 40)] {
            picture.bytes[place * POINT..(place + 1) * POINT].fill(shade);
        }
        assert_eq!(picture.smaller(2), Picture { width: 2, height: 1, bytes: [[100; 4], [40; 4]].concat() });
        assert_eq!(picture.smaller(1), picture);
    }

    #[test]
    fn pictures_of_every_size_become_about_as_wide() {
        for width in [320, 360, 412, 800, 915] {
            assert!((150..=210).contains(&(width / factor_for(width))), "{width}");
        }
        assert_eq!(factor_for(40), 1);
    }

    #[test]
    fn a_sheet_holds_every_picture_once_in_its_place() {
        let pictures: Vec<Picture> = (1..=11).map(|shade| plain(180, 300, shade)).collect();
        let sheet = sheet(&pictures);
        // Eight fit into 1600 points: 8 × 188 + 8 = 1512; so two rows.
        assert_eq!((sheet.width, sheet.height), (1512, 2 * 308 + 8));
        for (index, picture) in pictures.iter().enumerate() {
            let (left, top) = (GAP + index % 8 * 188, GAP + index / 8 * 308);
            for (x, y) in [(left, top), (left + 179, top + 299)] {
                assert_eq!(sheet.bytes[(y * sheet.width + x) * POINT], picture.bytes[0], "picture {index}");
            }
            assert_eq!(sheet.bytes[((top - 1) * sheet.width + left) * POINT], GROUND);
        }
    }
}
