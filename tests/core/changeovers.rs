//! What a change between songs takes: pairs, springs, another instrument; and no detour is a shortcut.

use pegwise::instrument::{Bridge, Catalog, Fret, Strung, Tuning};
use pegwise::songs::{Changeover, Stand};
use pegwise::theory::ReferencePitch;

fn stand(instrument: &str, tuning: &Tuning, capo: u8) -> Stand {
    Stand { instrument_id: instrument.to_owned(), pitches: tuning.clone(), capo: Fret::new(capo) }
}

fn strung(id: &str) -> Strung {
    let catalog = Catalog::bundled();
    let instrument = catalog.find_instrument(id).unwrap();
    Strung::new(instrument, catalog.strings_of(instrument)).unwrap()
}

fn tuning(id: &str) -> &'static Tuning {
    Catalog::bundled().find_tuning(id).unwrap().tuning()
}

/// Every three of some tunings of four instruments, one of them in pairs and one on springs, with and without capo.
#[test]
fn no_detour_through_a_third_song_is_a_shortcut() {
    let catalog = Catalog::bundled();
    let mut stands = Vec::new();
    for (id, most) in
        [("guitar", 14), ("twelve-string-guitar", 5), ("electric-guitar-floating", 4), ("tenor-ukulele", 3)]
    {
        let instrument = catalog.find_instrument(id).unwrap();
        let tunings = catalog.tunings_for(instrument);
        let every = (tunings.len() / most).max(1);
        for (index, tuning) in tunings.iter().step_by(every).take(most).enumerate() {
            stands.push(stand(id, tuning.tuning(), u8::from(index % 3 == 0) * 2));
        }
    }
    let strung: Vec<Strung> = stands.iter().map(|stand| strung(&stand.instrument_id)).collect();
    let cost: Vec<Vec<u32>> = stands
        .iter()
        .zip(&strung)
        .map(|(from, strung)| {
            stands
                .iter()
                .map(|to| Changeover::between_songs(strung, from, to, ReferencePitch::default()).cost())
                .collect()
        })
        .collect();
    let count = stands.len();
    assert!(count > 20);
    for from in 0..count {
        for to in 0..count {
            for by in 0..count {
                let (way, detour) = (cost[from][to], cost[from][by] + cost[by][to]);
                assert!(
                    way <= detour,
                    "{:?} to {:?} by {:?}: {way} over {detour}",
                    stands[from],
                    stands[to],
                    stands[by]
                );
            }
        }
    }
}

#[test]
fn further_strings_rounds_on_springs_and_another_instruments_tuning_count() {
    let a4 = ReferencePitch::default();
    let seconds = |strung: &Strung, from: &Stand, to: &Stand| Changeover::between_songs(strung, from, to, a4).seconds();
    let (standard, drop_d) = (tuning("guitar-standard"), tuning("guitar-drop-d"));
    let (guitar, twelve) = (strung("guitar"), strung("twelve-string-guitar"));
    let on = |id: &str, tuning: &Tuning| stand(id, tuning, 0);
    // One string by two semitones down: 8 + 2 · 2, the string's share of the formula (and 4 where it ends slack).
    let single = seconds(&guitar, &on("guitar", standard), &on("guitar", drop_d));
    let pair = seconds(&twelve, &on("twelve-string-guitar", standard), &on("twelve-string-guitar", drop_d));
    assert_eq!(single, 12);
    assert!(pair >= single + 6, "{pair}");
    let springs = guitar.clone().with_bridge(Bridge::Floating);
    let floating = seconds(&springs, &on("guitar", standard), &on("guitar", drop_d));
    assert_eq!(floating, single + 4 * 4 * 6);
    assert_eq!(seconds(&springs, &on("guitar", standard), &on("guitar", standard)), 0);
    // To another instrument that waits in its usual tuning, and to one that has to be retuned; and from one that has to go
    // back.
    let ukulele = tuning("tenor-ukulele-standard");
    let open_c = tuning("tenor-ukulele-open-c");
    let plain = seconds(&guitar, &on("guitar", standard), &on("tenor-ukulele", ukulele));
    assert_eq!(plain, 40);
    assert!(seconds(&guitar, &on("guitar", standard), &on("tenor-ukulele", open_c)) >= 40 + 12);
    assert!(seconds(&guitar, &on("guitar", drop_d), &on("tenor-ukulele", ukulele)) >= 40 + 12);
}
