// One step of the D3Q27 cumulant method on a graphics card, in place.
//
// Collision: Geier, Schönherr, Pasquali & Krafczyk 2015, Comput. Math. Appl.
// 70:507, cumulants of third order kept as far as they are small, all above
// gone. Streaming: "esoteric pull",
// Lehmann 2022, Computation 10:92. Populations are kept less their weight.
//
// Lines that begin with //@ stand for text that `shader.rs` writes, since it
// depends on how many buffers the populations are spread over.

struct Step {
    // Places along each axis: the cells, and one more where a wall ends them.
    m: vec3u,
    // All of them, which is the length of an array.
    count: u32,
    // Where the near arrays of the pairs begin: 0 or `count`, in turns.
    near: u32,
    // First of the pushes that act now.
    first_push: u32,
    tau: f32,
    // Speed below which water counts as slow, in cells a step.
    slow: f32,
}

@group(0) @binding(0) var<uniform> now: Step;
// 0 where there is no water; else bit 0, bit 1 below the lid, and from bit 2
// on one more than the index into `acting`, or 0.
@group(0) @binding(1) var<storage, read> kinds: array<u32>;
@group(0) @binding(2) var<storage, read> closure: array<f32>;
// For each cell on which something acts: drag per speed and per speed squared,
// a bit for each two populations that change places at walls which water slides
// along (and one that is always set), and one more than its place among the pushes.
@group(0) @binding(3) var<storage, read> acting: array<vec4f>;
// Force and water that appears, as they are in one stretch of time.
@group(0) @binding(4) var<storage, read> pushes: array<vec4f>;
//@bindings

// Ways to the neighbors of a place, less what wraps around.
struct Ways { xp: u32, xm: u32, yp: u32, ym: u32, zp: u32 }

fn ways(at: vec3u) -> Ways {
    let row = now.m.x;
    let plane = row * now.m.y;
    var w: Ways;
    w.xp = select(1u, 1u - row, at.x + 1u == now.m.x);
    w.xm = select(0u - 1u, row - 1u, at.x == 0u);
    w.yp = select(row, row - plane, at.y + 1u == now.m.y);
    w.ym = select(0u - row, plane - row, at.y == 0u);
    w.zp = select(plane, plane - now.count, at.z + 1u == now.m.z);
    return w;
}

struct Water {
    f: array<f32, 27>,
    // Density, its excess over 1, and its inverse.
    rho: f32,
    excess: f32,
    inverse: f32,
    j: vec3f,
    // Velocity with half of the force.
    u: vec3f,
    // Water that appears here in this step.
    mass: f32,
}

fn load(here: u32, kind: u32) -> Water {
    let w = ways(vec3u(here % now.m.x, here / now.m.x % now.m.y, here / (now.m.x * now.m.y)));
    let near = now.near;
    let far = now.count - now.near;
    var water: Water;
    //@load
    if (kind & 2u) != 0u {
        // What went up comes down mirrored, or turned where its way was barred.
        //@lid
    }
    let index = kind >> 2u;
    var drag = vec4f();
    if index != 0u {
        drag = acting[index - 1u];
        let swaps = bitcast<u32>(drag.z) & 0xffffffu;
        if swaps != 0u {
            // What comes back from flat walls runs on along them.
            //@slides
        }
    }
    water.excess = 0.0;
    //@moments
    water.rho = 1.0 + water.excess;
    water.inverse = 1.0 / water.rho;
    water.mass = 0.0;
    water.u = water.j * water.inverse;
    if index != 0u {
        var pushed = water.u;
        if drag.w > 0.0 {
            let push = pushes[now.first_push + u32(drag.w) - 1u];
            pushed += 0.5 * push.xyz;
            water.mass = push.w;
        }
        // Drag, linear and quadratic, taken implicitly.
        let linear = 1.0 + 0.5 * drag.x;
        let root = sqrt(linear * linear + 2.0 * drag.y * length(pushed));
        water.u = pushed * (2.0 / (linear + root));
    }
    return water;
}

// The three moments of three populations (or sums of such) about `u`.
fn forward(f: vec3f, u: f32) -> vec3f {
    let a = -1.0 - u;
    let c = 1.0 - u;
    return vec3f(
        f.x + f.y + f.z,
        fma(a, f.x, fma(-u, f.y, c * f.z)),
        fma(a * a, f.x, fma(u * u, f.y, c * c * f.z)),
    );
}

fn backward(k: vec3f, u: f32) -> vec3f {
    let uu = u * u;
    return vec3f(
        0.5 * fma(k.x, uu - u, fma(k.y, 2.0 * u - 1.0, k.z)),
        fma(k.x, 1.0 - uu, fma(-2.0 * u, k.y, -k.z)),
        0.5 * fma(k.x, uu + u, fma(k.y, 2.0 * u + 1.0, k.z)),
    );
}

// Norm of the deviator of the second central moments, over the density.
fn shear(k: array<f32, 6>, inverse: f32) -> f32 {
    let trace = (k[0] + k[1] + k[2]) / 3.0;
    let d = vec3f(k[0], k[1], k[2]) - trace;
    let s = vec3f(k[3], k[4], k[5]);
    return sqrt(dot(d, d) + 2.0 * dot(s, s)) * inverse;
}

// Second moments about `u` of water that moves at it.
fn stress_about(s: array<f32, 6>, j: vec3f, u: vec3f) -> array<f32, 6> {
    return array<f32, 6>(
        s[0] - j.x * u.x, s[1] - j.y * u.y, s[2] - j.z * u.z,
        s[3] - j.x * u.y, s[4] - j.x * u.z, s[5] - j.y * u.z,
    );
}

fn relaxation_time(term: f32, norm: f32) -> f32 {
    return 0.5 * (now.tau + sqrt(fma(now.tau, now.tau, term * norm)));
}

// What is left of a third cumulant: `most` over `scale` of a small one, and half
// of that of one as large as `scale`.
fn limited(moment: f32, most: f32, scale: f32) -> f32 {
    return moment * (most / (scale + abs(moment)));
}

// The third moment aab about the water's own velocity, from the one about a
// velocity that is further by `d` along a and b; `aa` is less that of water at rest.
fn own(aab: f32, aa: f32, ab: f32, first: f32, d: vec2f) -> f32 {
    return aab + 2.0 * d.x * ab + d.y * (aa + 1.0 / 3.0 - 2.0 * first * d.x);
}

fn place(group: vec3u, groups: vec3u, lane: u32) -> u32 {
    return (group.y * groups.x + group.x) * 128u + lane;
}

@compute @workgroup_size(128)
fn step(
    @builtin(workgroup_id) group: vec3u,
    @builtin(num_workgroups) groups: vec3u,
    @builtin(local_invocation_index) lane: u32,
) {
    let here = place(group, groups, lane);
    if here >= now.count {
        return;
    }
    let kind = kinds[here];
    if kind == 0u {
        return;
    }
    let water = load(here, kind);
    var f = water.f;
    let u = water.u;
    // Density with the water that appears.
    let excess = water.excess + water.mass;
    let ir = 1.0 / (1.0 + excess);
    // Central moments of what differs from the weights; those of the weights
    // themselves are products of 1, -u and 1/3 + u² along the three axes.
    //@forward
    let uu = u * u;
    let second = array<f32, 6>(
        f[18] + uu.x, f[6] + uu.y, f[2] + uu.z,
        f[12] + u.x * u.y, f[10] + u.x * u.z, f[4] + u.y * u.z,
    );
    let tau = relaxation_time(closure[here], shear(second, ir));
    let rate = 1.0 - 1.0 / tau;
    let omega = 1.0 / tau;
    let k110 = rate * second[3];
    let k101 = rate * second[4];
    let k011 = rate * second[5];
    let xy = rate * (second[0] - second[1]);
    let xz = rate * (second[0] - second[2]);
    // Second moments less the 1/3 of water at rest.
    let d200 = (xy + xz + excess) / 3.0;
    let d020 = d200 - xy;
    let d002 = d200 - xz;
    let k200 = d200 + 1.0 / 3.0;
    let k020 = d020 + 1.0 / 3.0;
    let k002 = d002 + 1.0 / 3.0;
    // Fourth to sixth order as their cumulants' zero asks.
    let k211 = (k200 * k011 + 2.0 * k110 * k101) * ir;
    let k121 = (k020 * k101 + 2.0 * k110 * k011) * ir;
    let k112 = (k002 * k110 + 2.0 * k101 * k011) * ir;
    let k220 = (k200 * k020 + 2.0 * k110 * k110) * ir;
    let k202 = (k200 * k002 + 2.0 * k101 * k101) * ir;
    let k022 = (k020 * k002 + 2.0 * k011 * k011) * ir;
    let sixth = k200 * k022 + k020 * k202 + k002 * k220
        + 4.0 * (k011 * k211 + k101 * k121 + k110 * k112);
    let products = 16.0 * k110 * k101 * k011
        + 4.0 * (k101 * k101 * k020 + k011 * k011 * k200 + k110 * k110 * k002)
        + 2.0 * k200 * k020 * k002;
    // Half of the force before the collision, half after: the first moment
    // turns around.
    let first = water.rho * u - water.j;
    let x = vec3f(1.0, -u.x, uu.x + 1.0 / 3.0);
    let y = vec3f(1.0, -u.y, uu.y + 1.0 / 3.0);
    let z = vec3f(1.0, -u.z, uu.z + 1.0 / 3.0);
    let scale = THIRD_SCALE * (1.0 + excess);
    let most = scale * max(
        0.0,
        ((9.0 * omega - 10.0) * omega - 8.0) / ((14.0 - 7.0 * omega) * omega + 8.0),
    );
    // About the water's own velocity, which lies half of the force before.
    let d = first * water.inverse;
    let xxy = own(f[21] + x.z * y.y, second[0], second[3], first.x, vec2f(d.x, d.y));
    let xyy = own(f[15] + x.y * y.z, second[1], second[3], first.y, vec2f(d.y, d.x));
    let xxz = own(f[19] + x.z * z.y, second[0], second[4], first.x, vec2f(d.x, d.z));
    let xzz = own(f[11] + x.y * z.z, second[2], second[4], first.z, vec2f(d.z, d.x));
    let yyz = own(f[7] + y.z * z.y, second[1], second[5], first.y, vec2f(d.y, d.z));
    let yzz = own(f[5] + y.y * z.z, second[2], second[5], first.z, vec2f(d.z, d.y));
    let xyz = f[13] + x.y * y.y * z.y + d.x * second[5] + d.y * second[4] + d.z * second[3]
        - 2.0 * first.x * d.y * d.z;
    let k210 = limited(xxy, most, scale);
    let k120 = limited(xyy, most, scale);
    let k201 = limited(xxz, most, scale);
    let k102 = limited(xzz, most, scale);
    let k021 = limited(yyz, most, scale);
    let k012 = limited(yzz, most, scale);
    let k111 = limited(xyz, most, scale);
    let k122 = (k002 * k120 + k020 * k102
        + 4.0 * k011 * k111 + 2.0 * (k101 * k021 + k110 * k012)) * ir;
    let k212 = (k002 * k210 + k200 * k012
        + 4.0 * k101 * k111 + 2.0 * (k011 * k201 + k110 * k102)) * ir;
    let k221 = (k020 * k201 + k200 * k021
        + 4.0 * k110 * k111 + 2.0 * (k011 * k210 + k101 * k120)) * ir;
    let triples = 4.0 * k111 * k111 + 2.0 * (k120 * k102 + k210 * k012 + k201 * k021);
    let k222 = (sixth + triples) * ir - products * ir * ir;
    f[0] = excess;
    f[9] = first.x + u.x;
    f[3] = first.y + u.y;
    f[1] = first.z + u.z;
    f[18] = d200 - uu.x;
    f[6] = d020 - uu.y;
    f[2] = d002 - uu.z;
    f[12] = k110 - u.x * u.y;
    f[10] = k101 - u.x * u.z;
    f[4] = k011 - u.y * u.z;
    f[22] = k211 - x.z * y.y * z.y;
    f[16] = k121 - x.y * y.z * z.y;
    f[14] = k112 - x.y * y.y * z.z;
    f[24] = k220 - x.z * y.z;
    f[20] = k202 - x.z * z.z;
    f[8] = k022 - y.z * z.z;
    f[26] = k222 - x.z * y.z * z.z;
    f[13] = k111 - x.y * y.y * z.y;
    f[15] = k120 - x.y * y.z;
    f[11] = k102 - x.y * z.z;
    f[21] = k210 - x.z * y.y;
    f[19] = k201 - x.z * z.y;
    f[5] = k012 - y.y * z.z;
    f[7] = k021 - y.z * z.y;
    f[17] = k122 - x.y * y.z * z.z;
    f[23] = k212 - x.z * y.y * z.z;
    f[25] = k221 - x.z * y.z * z.y;
    //@backward
    let w = ways(vec3u(here % now.m.x, here / now.m.x % now.m.y, here / (now.m.x * now.m.y)));
    let near = now.near;
    let far = now.count - now.near;
    //@store
}

// What is seen now, added to the sums over time.
@compute @workgroup_size(128)
fn sample(
    @builtin(workgroup_id) group: vec3u,
    @builtin(num_workgroups) groups: vec3u,
    @builtin(local_invocation_index) lane: u32,
) {
    let here = place(group, groups, lane);
    if here >= now.count {
        return;
    }
    let kind = kinds[here];
    if kind == 0u {
        return;
    }
    let water = load(here, kind);
    // As the processor's kernel does: a run that diverges shows it here first.
    if !(abs(water.f[13]) < 0.3) {
        atomicStore(&unsound, 1u);
    }
    let u = water.u;
    // Eddies too small for the cells, as the processor's samples count them.
    var stress: array<f32, 6>;
    //@stress
    let before = water.j * water.inverse;
    let norm = shear(stress_about(stress, water.j, before), water.inverse);
    let term = closure[here];
    let root = sqrt(fma(now.tau, now.tau, term * norm));
    let eddy = 0.5 * term * norm / (root + now.tau);
    let unseen = eddy * eddy * UNSEEN_SHARE / (select(1.0, term, term > 0.0) + 1e-12);
    let seen = dot(u, u);
    let square = seen + unseen;
    let speed = sqrt(fma(unseen, 2.0 / 3.0, seen));
    //@sums
}
