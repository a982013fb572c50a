//! `pegwise write-down`.

use std::fs::File;
use std::io::BufReader;

use crate::app::plucked_notes;
use crate::sound::read_wav;
use crate::theory::Key;
use crate::tune::{Grid, Metre, Quarters, Tempo, TuneKey, write_abc};

use super::Failure;
use super::args::WriteDownArgs;

pub(super) fn write_down(wanted: &WriteDownArgs) -> Result<String, Failure> {
    let place = wanted.file.display();
    let file = File::open(&wanted.file).map_err(|fault| Failure::Input(format!("{place}: {fault}")))?;
    let recording = read_wav(BufReader::new(file)).map_err(Failure::input)?;
    let metre =
        wanted.metre.split_once('/').and_then(|(beats, unit)| Metre::new(beats.parse().ok()?, unit.parse().ok()?));
    let expected = || Failure::Input(format!("expected a metre such as 4/4, found \"{}\"", wanted.metre));
    let key = wanted.key.as_deref().map(Key::read).transpose().map_err(Failure::input)?;
    let grid = Grid {
        start_s: wanted.start,
        tempo: Tempo { beat: Quarters::ONE, per_minute: wanted.tempo },
        part: Quarters::new(1, wanted.parts).unwrap_or(Quarters::ONE),
        metre: metre.ok_or_else(expected)?,
        key: key.map_or_else(TuneKey::default, TuneKey::of),
        a4: wanted.a4()?,
    };
    let written = crate::tune::write_down(&plucked_notes(&recording.samples, recording.rate), &grid);
    if written.tune.bars.is_empty() {
        return Err(Failure::Input(format!("{place}: no plucked note is heard in it")));
    }
    let unsure: Vec<String> = written.unsure.iter().map(ToString::to_string).collect();
    let note = match unsure.as_slice() {
        [] => String::new(),
        places => format!("% check quarters {}\n", places.join(", ")),
    };
    Ok(write_abc(&written.tune) + &note)
}
