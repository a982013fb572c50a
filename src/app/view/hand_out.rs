//! The page that is handed out, as the screen shows it.

use slint::{Image, Rgb8Pixel, SharedPixelBuffer};

use crate::app::hand_out::{HandedOut, SheetFormat};
use crate::app::{State, ui};

use super::count;

/// How many points across the page's picture has: enough for a phone's screen, and to be read on a large one.
const ACROSS: u32 = 840;

/// Fills the screen. `shares` tells whether the system asks where a file goes.
pub(in crate::app) fn show_hand_out(state: &State, shares: bool, to: &ui::HandOutState<'_>) {
    let out = &state.hand_out;
    to.set_has_sheet(out.sheet.is_some());
    to.set_large(out.is_large);
    to.set_is_song(matches!(out.what, Some(HandedOut::Song(_))));
    to.set_chords_only(out.has_chords_only);
    to.set_format(format_view(out.format));
    to.set_shares(shares);
    let document = out.sheet.as_ref().map(|sheet| &sheet.document);
    to.set_has_music(out.sheet.as_ref().is_some_and(|sheet| sheet.score.is_some()));
    to.set_title(document.map(|document| document.title()).unwrap_or_default().into());
    to.set_pages(count(document.map_or(0, |document| document.pages())));
    to.set_number(count(out.page + 1));
    let drawn = document.and_then(|document| document.to_pixels(out.page, ACROSS));
    to.set_page(drawn.map(|(height, grey)| picture(height, &grey)).unwrap_or_default());
    let lost = document.map(|document| document.lost_letters()).unwrap_or_default();
    to.set_lost(lost.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ").into());
    let (went, fault) = match &out.went {
        None => ("", ""),
        Some(Ok(place)) => (place.as_str(), ""),
        Some(Err(fault)) => ("", fault.as_str()),
    };
    to.set_went(went.into());
    to.set_fault(fault.into());
}

fn picture(height: u32, grey: &[u8]) -> Image {
    let mut points = SharedPixelBuffer::<Rgb8Pixel>::new(ACROSS, height);
    for (point, &grey) in points.make_mut_slice().iter_mut().zip(grey) {
        *point = Rgb8Pixel { r: grey, g: grey, b: grey };
    }
    Image::from_rgb8(points)
}

const fn format_view(format: SheetFormat) -> ui::SheetFormat {
    match format {
        SheetFormat::Pdf => ui::SheetFormat::Pdf,
        SheetFormat::Png => ui::SheetFormat::Png,
        SheetFormat::Svg => ui::SheetFormat::Svg,
        SheetFormat::MusicXml => ui::SheetFormat::MusicXml,
        SheetFormat::Text => ui::SheetFormat::Text,
    }
}

/// What the screen's kind of file is here.
pub(in crate::app) const fn format_of(format: ui::SheetFormat) -> SheetFormat {
    match format {
        ui::SheetFormat::Pdf => SheetFormat::Pdf,
        ui::SheetFormat::Png => SheetFormat::Png,
        ui::SheetFormat::Svg => SheetFormat::Svg,
        ui::SheetFormat::MusicXml => SheetFormat::MusicXml,
        ui::SheetFormat::Text => SheetFormat::Text,
    }
}
