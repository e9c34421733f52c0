//! Invented vehicles of any size, made from a number: the same number gives the same vehicle.

use std::fmt::Write;

/// A small, well mixed sequence of numbers (splitmix64, public domain).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// 0 up to but not including `n`.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    /// From `low` to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.between(0.0, 1.0) < p
    }

    pub(crate) fn one_of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }
}

/// What kinds of part a generated vehicle may hold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Recipe {
    pub(crate) loads: usize,
    /// Modules on networks, outputs, relays with coils.
    pub(crate) modules: bool,
}

/// Format 1 text of an invented vehicle with about that many loads.
#[allow(clippy::too_many_lines)] // one template, read top to bottom
pub(crate) fn vehicle(seed: u64, recipe: Recipe) -> String {
    let mut dice = Dice(seed);
    let d = &mut dice;
    let boxes = 1 + recipe.loads / 60;
    let mut text = String::from(
        "Vehicle(format: 1, name: \"Generated (invented)\", year: 2014, limit: mA(50), settle: minutes(30), places: {",
    );
    for b in 0..boxes {
        let _ = write!(
            text,
            "\"box {b}\": Place(reach: minutes({:.1})),",
            d.between(1.0, 6.0)
        );
    }
    let _ = write!(
        text,
        "\"roof\": Place(reach: minutes(4)), \"dash\": Place(reach: minutes(12), within: \"box 0\"), \"rear\": Place(reach: minutes(7)),}},"
    );
    let modules = if recipe.modules {
        1 + recipe.loads / 25
    } else {
        0
    };
    if modules > 0 {
        text.push_str("networks: {\"body network\": Network()}, modules: {");
        for m in 0..modules {
            let awake = [120, 200, 300][d.below(3)];
            let network = if m % 3 == 2 {
                ""
            } else {
                "network: \"body network\", "
            };
            let _ = write!(text, "\"module {m}\": Module({network}awake: mA({awake})),");
        }
        text.push_str("},");
    }
    text.push_str("battery: Battery(id: \"battery\", at: \"box 0\", volts: V(12), feeds: [");
    let (mut loads, mut fuse, mut module) = (0, 0, 0);
    let per_box = recipe.loads.div_ceil(boxes);
    // About 0.1 mA of sleep a load keeps any size of vehicle within its limit.
    for b in 0..boxes {
        let _ = write!(
            text,
            "Cable(id: \"cable {b}\", wire: Wire(size: mm2(16), length: m({:.1})), at: \"box {b}\", feeds: [Link(id: \"L{b}\", rating: A(80), style: Midi, at: \"box {b}\", feeds: [",
            d.between(0.5, 3.0)
        );
        let goal = ((b + 1) * per_box).min(recipe.loads);
        while loads < goal {
            fuse += 1;
            let (rating, style) = *d.one_of(&[
                (5.0, "Mini"),
                (10.0, "Mini"),
                (15.0, "Regular"),
                (20.0, "Regular"),
                (7.5, "Micro2"),
                (30.0, "Maxi"),
            ]);
            let _ = write!(
                text,
                "Fuse(id: \"F{fuse}\", rating: A({rating}), style: {style}, at: \"box {b}\""
            );
            if d.chance(0.04) {
                text.push_str("),");
                continue;
            }
            text.push_str(", feeds: [");
            let relay = recipe.modules && d.chance(0.08);
            if relay {
                let _ = write!(
                    text,
                    "Coil(id: \"coil {fuse}\", moves: \"K{fuse}\", commanded_by: \"module 0\", draws: mA(160)),Relay(id: \"K{fuse}\", rest: Open, at: \"box {b}\", feeds: ["
                );
            }
            let splice = !relay && d.chance(0.5);
            if splice {
                let _ = write!(
                    text,
                    "Splice(id: \"S{fuse}\", at: \"{}\", feeds: [",
                    d.one_of(&["dash", "rear"])
                );
            }
            for _ in 0..=d.below(6) {
                if loads >= goal {
                    break;
                }
                loads += 1;
                let kind = *d.one_of(&[
                    "Lamp", "Audio", "Motor", "Heater", "Other", "Added", "Moves",
                ]);
                let place = *d.one_of(&["roof", "dash", "rear"]);
                let _ = write!(
                    text,
                    "Load(id: \"load {loads}\", plug: \"C{loads}\", at: \"{place}\", asleep: mA({:.2}), at_most: mA({:.2})",
                    d.between(0.0, 0.05),
                    d.between(0.06, 0.2)
                );
                if modules > 0 && !relay && module < 2 * modules && d.chance(0.2) {
                    let _ = write!(text, ", of: \"module {}\"", module % modules);
                    module += 1;
                    if d.chance(0.3) {
                        loads += 1;
                        let _ = write!(
                            text,
                            ", feeds: [Output(id: \"out {loads}\", feeds: [Load(id: \"load {loads}\", kind: Lamp, plug: \"C{loads}\", at: \"roof\", asleep: mA(0), at_most: mA(0.2))])]"
                        );
                    }
                } else {
                    let _ = write!(text, ", kind: {kind}");
                }
                text.push_str("),");
            }
            if splice || relay {
                text.push_str("]),");
            }
            text.push_str("]),");
        }
        text.push_str("])]),");
    }
    // A module that found no fuse of its own is fed straight from the battery.
    for m in module..modules {
        let _ = write!(
            text,
            "Load(id: \"feed of {m}\", of: \"module {m}\", plug: \"CM{m}\", at: \"rear\", asleep: mA(0.2), at_most: mA(1)),"
        );
    }
    text.push_str("]))");
    text
}

#[test]
fn generated_vehicles_are_accepted_whatever_their_size() {
    for loads in [20, 60, 200, 600, 1500] {
        for seed in 0..4 {
            for modules in [false, true] {
                let text = vehicle(seed, Recipe { loads, modules });
                let (feeds, problems) = halfsplit::feeds::load(&text);
                let errors: Vec<_> = problems.iter().filter(|p| p.is_error()).collect();
                assert!(errors.is_empty(), "{errors:?}");
                let feeds = feeds.expect("a tree");
                let entered = halfsplit::feeds::Checked::of(&text, &problems, Some(&feeds));
                assert!(
                    entered.parts["Load"] >= loads,
                    "{loads} {}",
                    entered.parts["Load"]
                );
            }
        }
    }
}
