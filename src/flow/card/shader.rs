//! The text of the shader for a number of buffers: `step.wgsl` with the lines
//! filled in that touch populations one by one.

use std::fmt::Write as _;

use super::spread::{SUMS, Spread, number};
use crate::lattice::{PAIRS, SLIDES, direction};
use crate::plain::THIRD_SCALE;
use crate::sampling::unseen_share;

/// The shader for populations and sums spread like this.
pub(super) fn text(populations: &Spread, sums: &Spread) -> String {
    let mut out = String::new();
    for line in include_str!("step.wgsl").lines() {
        match line.trim().strip_prefix("//@") {
            None => out.push_str(line),
            Some("bindings") => bindings(&mut out, populations, sums),
            Some("load") => load(&mut out, populations),
            Some("lid") => lid(&mut out, populations),
            Some("slides") => slides(&mut out),
            Some("moments") => moments(&mut out),
            Some("forward") => transforms(&mut out, "forward", [1, 3, 9]),
            Some("backward") => transforms(&mut out, "backward", [9, 3, 1]),
            Some("store") => store(&mut out, populations),
            Some("stress") => stress(&mut out),
            Some("sums") => add_up(&mut out, sums),
            Some(other) => add(&mut out, format_args!("unknown section {other}")),
        }
        out.push('\n');
    }
    out
}

fn add(out: &mut String, line: std::fmt::Arguments<'_>) {
    // Writing to a text cannot fail.
    let _written = out.write_fmt(line);
    out.push('\n');
}

fn bindings(out: &mut String, populations: &Spread, sums: &Spread) {
    let share = unseen_share();
    add(out, format_args!("const UNSEEN_SHARE: f32 = {share:?};"));
    add(
        out,
        format_args!("const THIRD_SCALE: f32 = {THIRD_SCALE:?};"),
    );
    for buffer in 0..populations.buffers() {
        let binding = super::layout::FIRST_POPULATION + buffer as u32;
        let head = format_args!("@group(0) @binding({binding}) var<storage, read_write> ");
        let _written = out.write_fmt(head);
        add(out, format_args!("f{buffer}: array<f32>;"));
    }
    add(
        out,
        format_args!("@group(1) @binding(0) var<storage, read_write> unsound: atomic<u32>;"),
    );
    for buffer in 0..sums.buffers() {
        let binding = 1 + buffer;
        let head = format_args!("@group(1) @binding({binding}) var<storage, read_write> ");
        let _written = out.write_fmt(head);
        add(out, format_args!("s{buffer}: array<f32>;"));
    }
}

/// The way along a pair, as the shader has it.
fn way(c: [i32; 3]) -> String {
    let names = [["w.xm", "", "w.xp"], ["w.ym", "", "w.yp"], ["", "", "w.zp"]];
    let parts: Vec<&str> = (0..3)
        .map(|a| names[a][(c[a] + 1) as usize])
        .filter(|part| !part.is_empty())
        .collect();
    parts.join(" + ")
}

/// Where a pair's arrays begin in their buffer.
fn pair_at(populations: &Spread, pair: usize) -> (usize, usize) {
    populations.at(1 + 2 * pair)
}

fn load(out: &mut String, populations: &Spread) {
    let rest = number([0; 3]);
    let (buffer, array) = populations.at(0);
    add(
        out,
        format_args!("    water.f[{rest}] = f{buffer}[{array}u * now.count + here];"),
    );
    for (pair, c) in PAIRS.into_iter().enumerate() {
        let (buffer, array) = pair_at(populations, pair);
        let (plus, minus) = (number(c), number(c.map(|x| -x)));
        let way = way(c);
        add(
            out,
            format_args!("    water.f[{plus}] = f{buffer}[{array}u * now.count + near + here];"),
        );
        add(
            out,
            format_args!(
                "    water.f[{minus}] = f{buffer}[{array}u * now.count + far + here + {way}];"
            ),
        );
    }
}

fn store(out: &mut String, populations: &Spread) {
    let rest = number([0; 3]);
    let (buffer, array) = populations.at(0);
    add(
        out,
        format_args!("    f{buffer}[{array}u * now.count + here] = f[{rest}];"),
    );
    for (pair, c) in PAIRS.into_iter().enumerate() {
        let (buffer, array) = pair_at(populations, pair);
        let (plus, minus) = (number(c), number(c.map(|x| -x)));
        let way = way(c);
        add(
            out,
            format_args!("    f{buffer}[{array}u * now.count + far + here + {way}] = f[{plus}];"),
        );
        add(
            out,
            format_args!("    f{buffer}[{array}u * now.count + near + here] = f[{minus}];"),
        );
    }
}

/// Below the lid each population that comes down is the one that went up a step
/// ago at the cell it would have come from, or here where that is no water.
/// Both still lie where that step has written them, in what is now the near
/// array, which no cell touches there in this step.
fn lid(out: &mut String, populations: &Spread) {
    for (pair, c) in PAIRS.into_iter().enumerate().filter(|(_, c)| c[2] == 1) {
        let down = number(c.map(|x| -x));
        let from = [c[0], c[1], 0];
        let mirrored = [-c[0], -c[1], 1];
        let other = PAIRS.iter().position(|&p| p == mirrored).unwrap_or(pair);
        let (buffer, array) = pair_at(populations, other);
        let (own_buffer, own_array) = pair_at(populations, pair);
        let (own_way, up) = (way(c), way([0, 0, 1]));
        if from == [0; 3] {
            add(
                out,
                format_args!(
                    "        water.f[{down}] = f{buffer}[{array}u * now.count + near + here + {up}];"
                ),
            );
            continue;
        }
        let beside = way(from);
        add(
            out,
            format_args!("        if kinds[here + {beside}] != 0u {{"),
        );
        add(
            out,
            format_args!(
                "            water.f[{down}] = f{buffer}[{array}u * now.count + near + here + {up}];"
            ),
        );
        add(out, format_args!("        }} else {{"));
        add(
            out,
            format_args!(
                "            water.f[{down}] = f{own_buffer}[{own_array}u * now.count + near + here + {own_way}];"
            ),
        );
        add(out, format_args!("        }}"));
    }
}

/// Populations that change places where their bit is set.
fn slides(out: &mut String) {
    for (bit, slide) in SLIDES.into_iter().enumerate() {
        let [a, b] = slide.pair.map(|i| number(direction(i)));
        add(
            out,
            format_args!(
                "            if (swaps & {}u) != 0u {{ let kept = water.f[{a}]; water.f[{a}] = water.f[{b}]; water.f[{b}] = kept; }}",
                1u32 << bit
            ),
        );
    }
}

fn moments(out: &mut String) {
    // Pair by pair, so that what is equal cancels first.
    let mut sums = [
        format!("water.f[{}]", number([0; 3])),
        String::new(),
        String::new(),
        String::new(),
    ];
    for c in PAIRS {
        let (plus, minus) = (number(c), number(c.map(|x| -x)));
        let _written = write!(sums[0], " + (water.f[{plus}] + water.f[{minus}])");
        for axis in 0..3 {
            let sign = match c[axis] {
                0 => continue,
                1 => "+",
                _ => "-",
            };
            let _written = write!(
                sums[axis + 1],
                " {sign} (water.f[{plus}] - water.f[{minus}])"
            );
        }
    }
    add(out, format_args!("    water.excess = {};", sums[0]));
    for (axis, sum) in ["x", "y", "z"].into_iter().zip(&sums[1..]) {
        let sum = sum.trim_start().trim_start_matches("+ ");
        add(out, format_args!("    water.j.{axis} = {sum};"));
    }
}

/// Second moments at rest: three along the axes, then xy, xz, yz.
fn stress(out: &mut String) {
    for (at, (a, b)) in [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)]
        .into_iter()
        .enumerate()
    {
        let mut sum = String::new();
        for c in PAIRS {
            let (plus, minus) = (number(c), number(c.map(|x| -x)));
            let sign = match c[a] * c[b] {
                0 => continue,
                1 => "+",
                _ => "-",
            };
            let _written = write!(sum, " {sign} (water.f[{plus}] + water.f[{minus}])");
        }
        let sum = sum.trim_start().trim_start_matches("+ ");
        add(out, format_args!("    stress[{at}] = {sum};"));
    }
}

/// The change to moments, or back, axis by axis; `strides` are the axes' order.
fn transforms(out: &mut String, function: &str, strides: [usize; 3]) {
    for stride in strides {
        let u = match stride {
            9 => "u.x",
            3 => "u.y",
            _ => "u.z",
        };
        for low in (0..27).filter(|i| i / stride % 3 == 0) {
            let (middle, high) = (low + stride, low + 2 * stride);
            add(out, format_args!("    {{"));
            add(
                out,
                format_args!(
                    "        let k = {function}(vec3f(f[{low}], f[{middle}], f[{high}]), {u});"
                ),
            );
            for (i, part) in [low, middle, high].into_iter().zip(["x", "y", "z"]) {
                add(out, format_args!("        f[{i}] = k.{part};"));
            }
            add(out, format_args!("    }}"));
        }
    }
}

fn add_up(out: &mut String, sums: &Spread) {
    let values: [&str; SUMS] = [
        "u.x",
        "u.y",
        "u.z",
        "speed",
        "square",
        "select(0.0, 1.0, speed < now.slow)",
    ];
    for (i, value) in values.into_iter().enumerate() {
        let (buffer, array) = sums.at(i);
        add(
            out,
            format_args!("    s{buffer}[{array}u * now.count + here] += {value};"),
        );
    }
}
