//! Writes a page as PNG: grey of eight bits, drawn band by band so that a page at 300 dots an inch needs little memory.

use std::fmt;
use std::io::{self, Write};

use zeno::{Cap, Command, Fill, Join, Mask, Point, Scratch, Stroke, Style, Transform};

use super::page::{Document, Ink, Mark, Page, Path, Segment};

/// Rows that are drawn at a time.
const BAND_ROWS: u32 = 96;
/// The most dots an inch.
const MOST_DPI: u16 = 1200;

/// Why a page could not be written as PNG.
#[derive(Debug)]
pub enum PngError {
    /// There is no such page, or the resolution is not from 10 to 1200 dots an inch.
    NotDrawn,
    /// What takes the picture failed.
    Write(io::Error),
}

impl fmt::Display for PngError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotDrawn => f.write_str("there is no such page, or no such resolution"),
            Self::Write(fault) => fault.fmt(f),
        }
    }
}

impl std::error::Error for PngError {}

impl Document {
    /// Writes a page, counted from 0, at 10 to 1200 dots an inch.
    ///
    /// # Errors
    /// When there is no such page or resolution, or `to` fails.
    pub fn to_png(&self, page: usize, dpi: u16, to: impl Write) -> Result<(), PngError> {
        let sheet = self.pages.get(page).filter(|_| (10..=MOST_DPI).contains(&dpi)).ok_or(PngError::NotDrawn)?;
        let scale = f32::from(dpi) / 72.0;
        let (width, height) = (pixels(sheet.width * scale), pixels(sheet.height * scale));
        let mut encoder = png::Encoder::new(to, width, height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        let dots_a_metre = (u32::from(dpi) * 10_000 + 127) / 254;
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: dots_a_metre,
            yppu: dots_a_metre,
            unit: png::Unit::Meter,
        }));
        let fault = |fault: png::EncodingError| match fault {
            png::EncodingError::IoError(fault) => PngError::Write(fault),
            other => PngError::Write(io::Error::other(other)),
        };
        // What a reader without sight is told, where a program shows it.
        let title: String = self.title.chars().filter(char::is_ascii).collect();
        encoder.add_text_chunk("Title".to_owned(), title).map_err(fault)?;
        let mut writer = encoder.write_header().map_err(fault)?;
        let mut stream = writer.stream_writer().map_err(fault)?;
        let mut written = Ok(());
        draw(sheet, scale, width, height, |band| {
            if written.is_ok() {
                written = stream.write_all(band);
            }
        });
        written.map_err(PngError::Write)?;
        stream.finish().map_err(fault)
    }

    /// Draws a page, counted from 0, `width` pixels wide: its height in pixels, and its pixels row by row, 0 black to 255
    /// white. `None` when there is no such page or the picture would be empty or over 20,000 pixels wide.
    #[must_use]
    pub fn to_pixels(&self, page: usize, width: u32) -> Option<(u32, Vec<u8>)> {
        let sheet = self.pages.get(page).filter(|_| (1..=20_000).contains(&width))?;
        let scale = f32::from(u16::try_from(width).ok()?) / sheet.width;
        let height = pixels(sheet.height * scale);
        let mut all = Vec::new();
        draw(sheet, scale, width, height, |band| all.extend_from_slice(band));
        Some((height, all))
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a page's side at 1200 dots an inch at most"
)]
fn pixels(length: f32) -> u32 {
    length.round().clamp(1.0, 40_000.0) as u32
}

/// An outline ready to be filled, in pixels.
struct Filled {
    commands: Vec<Command>,
    line: Option<f32>,
    is_white: bool,
    /// Left, top, right, bottom.
    held: [f32; 4],
}

fn draw(page: &Page, scale: f32, width: u32, height: u32, mut take: impl FnMut(&[u8])) {
    let filled = filled(page, scale);
    let mut scratch = Scratch::new();
    let mut mask: Vec<u8> = Vec::new();
    let row = index(width);
    let mut band = vec![255_u8; row * index(BAND_ROWS)];
    let mut top = 0;
    while top < height {
        let rows = BAND_ROWS.min(height - top);
        let band = &mut band[..row * index(rows)];
        band.fill(255);
        for item in &filled {
            let Some(place) = Place::of(item.held, top, rows, width) else { continue };
            mask.clear();
            mask.resize(index(place.width) * index(place.height), 0);
            let shift = Transform::translation(-place.x_f32(), -place.y_f32());
            let mut pen = Mask::with_scratch(item.commands.as_slice(), &mut scratch);
            let mut stroke = Stroke::new(item.line.unwrap_or(1.0));
            stroke.cap(Cap::Round).join(Join::Round);
            let style = if item.line.is_some() { Style::Stroke(stroke) } else { Style::Fill(Fill::NonZero) };
            pen.style(style).transform(Some(shift)).size(place.width, place.height);
            pen.render_into(&mut mask, None);
            lay(band, row, &mask, &place, top, item.is_white);
        }
        take(band);
        top += rows;
    }
}

/// The pixels of a band that something may touch.
struct Place {
    x: u32,
    y: u32,
    width: u32,
    height: u32,
}

impl Place {
    fn of([left, top, right, bottom]: [f32; 4], band_top: u32, rows: u32, width: u32) -> Option<Self> {
        let (first, last) = (floor(left), floor(right).saturating_add(2).min(width));
        let (upper, lower) = (floor(top).max(band_top), floor(bottom).saturating_add(2).min(band_top + rows));
        (first < last && upper < lower).then(|| Self { x: first, y: upper, width: last - first, height: lower - upper })
    }

    fn x_f32(&self) -> f32 {
        f32::from(u16::try_from(self.x).unwrap_or(u16::MAX))
    }

    fn y_f32(&self) -> f32 {
        f32::from(u16::try_from(self.y).unwrap_or(u16::MAX))
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a page's pixels")]
fn floor(value: f32) -> u32 {
    value.floor().clamp(0.0, 60_000.0) as u32
}

fn index(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

/// Lays a mask on a band.
fn lay(band: &mut [u8], row: usize, mask: &[u8], place: &Place, band_top: u32, is_white: bool) {
    let wide = index(place.width);
    for (line, covers) in mask.chunks_exact(wide).enumerate() {
        let start = (index(place.y - band_top) + line) * row + index(place.x);
        let Some(under) = band.get_mut(start..start + wide) else { continue };
        for (pixel, &cover) in under.iter_mut().zip(covers) {
            match (cover, is_white) {
                (0, _) => {}
                (255, _) => *pixel = if is_white { 255 } else { 0 },
                (cover, is_white) => {
                    let (cover, before) = (u16::from(cover), u16::from(*pixel));
                    let ink = if is_white { 255 } else { 0 };
                    let mixed = (before * (255 - cover) + ink * cover + 127) / 255;
                    *pixel = u8::try_from(mixed).unwrap_or(u8::MAX);
                }
            }
        }
    }
}

fn filled(page: &Page, scale: f32) -> Vec<Filled> {
    let mut all = Vec::new();
    for mark in page.blocks.iter().flat_map(|block| &block.marks) {
        match mark {
            Mark::Path(path, ink) => all.extend(one(path, *ink, scale)),
            Mark::Text(run) => {
                let ink = if run.is_white { Ink::White } else { Ink::Black };
                for letter in run.letters.iter().filter(|letter| letter.text != ' ') {
                    let mut path = Path::default();
                    run.face.outline(letter.glyph, run.size, run.x + letter.at, run.y, &mut path);
                    all.extend(one(&path, ink, scale));
                }
            }
        }
    }
    all
}

fn one(path: &Path, ink: Ink, scale: f32) -> Option<Filled> {
    let [left, top, right, bottom] = Mark::Path(path.clone(), ink).bounds()?.map(|edge| edge * scale);
    let at = |(x, y): (f32, f32)| Point::new(x * scale, y * scale);
    let command = |segment: &Segment| match *segment {
        Segment::Move(x, y) => Command::MoveTo(at((x, y))),
        Segment::Line(x, y) => Command::LineTo(at((x, y))),
        Segment::Curve([one, two, end]) => Command::CurveTo(at(one), at(two), at(end)),
        Segment::Close => Command::Close,
    };
    let commands = path.0.iter().map(command).collect();
    let line = if let Ink::Line(width) = ink { Some(width * scale) } else { None };
    Some(Filled { commands, line, is_white: ink == Ink::White, held: [left, top, right, bottom] })
}
