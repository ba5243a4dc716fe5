import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import { scaled, sum, type Vector } from '../../src/geometry/vector.ts';
import {
  anyCrown,
  anyPlaneCurve,
  chance,
  conicPoint,
  logBetween,
  oneOf,
  signOf,
  unevenSpeed,
  type PlaneCurve,
} from './planeCurves.ts';

/** A smooth panel over [0,1]^2, mm. */
export type Shape = (u: number, v: number) => Vector;

/** A way to make panels: each call with the same random numbers makes the same panel. */
export type Recipe = (random: SeededRandom) => Shape;

type Plan = (u: number, v: number) => readonly [number, number];
type Height = (u: number, v: number) => number;

/** Length 500 to 2500 mm and width 300 to 1200 mm, the length the larger. */
function extent(random: SeededRandom): readonly [number, number] {
  const width = random.between(300, 1200);
  return [Math.max(width, random.between(500, 2500)), width];
}

/** A plan view: an exact rectangle or, as often, tapered, slanted and with swept edges. */
function plan(random: SeededRandom, [length, width]: readonly [number, number]): Plan {
  if (chance(random, 0.3)) return (u, v) => [length * (u - 0.5), width * (v - 0.5)];
  const often = (size: number): number => (chance(random, 0.6) ? size * random.normal() : 0);
  const [taper, slant, sweep, bow] = [often(0.12), often(0.1), often(0.06), often(0.04)];
  const [skew, twist] = [often(0.08), often(0.03)];
  return (u, v) => {
    const [x, y] = [u - 0.5, v - 0.5];
    return [
      length * (x + sweep * y * y + twist * x * x * y) + width * skew * y,
      width * (y * (1 + taper * 2 * x) + slant * x + bow * (1 - 4 * x * x)),
    ];
  };
}

/** Speeds of both parameters: even in half of the panels, else uneven by up to a factor. */
function speeds(random: SeededRandom, most: number, share = 0.5): (shape: Shape) => Shape {
  const own = [0, 1].map(() =>
    chance(random, share) ? unevenSpeed(random, most) : (t: number) => t,
  );
  return (shape) => (u, v) => shape(own[0](u), own[1](v));
}

const overPlan =
  (place: Plan, height: Height): Shape =>
  (u, v) => {
    const [x, y] = place(u, v);
    return [x, y, height(u, v)];
  };

/** Hood: a crown each way, often alike about its middle line, with or without twist. */
const crownedHood: Recipe = (random) => {
  const size = extent(random);
  const [along, across] = [anyCrown(random), anyCrown(random)];
  const [rise, crown] = [logBetween(random, 3, 120), logBetween(random, 2, 90)];
  const mixed = chance(random, 0.3) ? 0 : logBetween(random, 0.003, 0.5) * signOf(random);
  const twist = chance(random, 0.5) ? 0 : logBetween(random, 0.5, 30);
  const even = chance(random, 0.5);
  const half = (v: number): number => (even ? 0.5 + Math.abs(v - 0.5) : v);
  return speeds(
    random,
    2,
  )(
    overPlan(plan(random, size), (u, v) => {
      const own = across(half(v))[1];
      return rise * along(u)[1] + crown * own * (1 + mixed * (2 * u - 1)) + twist * u * (v - 0.5);
    }),
  );
};

/** Door: a section with tumblehome and a soft shoulder whose height and depth change along. */
const shoulderedDoor: Recipe = (random) => {
  const size = extent(random);
  const barrel = logBetween(random, 5, 80);
  const [at, drift] = [random.between(0.3, 0.8), random.between(-0.12, 0.12)];
  const [width, depth] = [logBetween(random, 0.03, 0.2), logBetween(random, 5, 120)];
  const [fade, bow] = [chance(random, 0.4) ? 0 : random.between(-0.5, 0.5), random.between(0, 40)];
  return speeds(
    random,
    1.6,
  )(
    overPlan(plan(random, size), (u, v) => {
      const off = v - at - drift * (u - 0.5);
      const shoulder = Math.sqrt(off * off + width * width);
      return (
        -barrel * (v - 0.45) ** 2 * 4 -
        depth * (1 + fade * (u - 0.5)) * shoulder -
        bow * (2 * u - 1) ** 2
      );
    }),
  );
};

/** Roof: alike about its middle line, elliptic or flatter across, any crown along. */
const roof: Recipe = (random) => {
  const [length, width] = extent(random);
  const along = anyPlaneCurve(random);
  const power = chance(random, 0.5) ? 2 : random.between(2, 3.2);
  const reach = random.between(0.4, 0.93);
  const [crown, rise] = [logBetween(random, 10, 200), logBetween(random, 10, 160)];
  const [narrow, flatten] = [random.between(-0.15, 0.15), random.between(-0.4, 0.4)];
  return speeds(
    random,
    1.8,
    0.4,
  )((u, v) => {
    const s = 2 * v - 1;
    const section = Math.pow(1 - Math.pow(Math.abs(reach * s), power), 1 / power);
    return [
      length * (u - 0.5),
      0.5 * width * s * (1 + narrow * (2 * u - 1)),
      rise * along(u)[1] + crown * section * (1 + flatten * (u - 0.5)),
    ];
  });
};

/** Flank: an arc section whose radius and lean change along the car. */
const tumblehomeFlank: Recipe = (random) => {
  const [length, height] = extent(random);
  const angle = logBetween(random, 0.08, 1.3);
  const [change, lean] = [random.between(-0.6, 0.6), random.between(-0.3, 0.3)];
  const bend = chance(random, 0.4) ? 0 : random.between(-0.3, 0.3);
  const [bow, curve] = [logBetween(random, 3, 120), anyPlaneCurve(random)];
  return speeds(
    random,
    1.8,
  )((u, v) => {
    const own = angle * (1 + change * (u - 0.5) + bend * u * u);
    const radius = height / Math.max(own, 0.02);
    const at = own * (v - 0.5);
    const turn = lean * (u - 0.5);
    const [y, z] = [radius * Math.sin(at), radius * (Math.cos(at) - 1)];
    const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
    return [length * (u - 0.5), y * cos - z * sin, y * sin + z * cos + bow * curve(u)[1]];
  });
};

/** Fender: an arc section swung along an arched line, its radius and angle changing. */
const fender: Recipe = (random) => {
  const [length, width] = extent(random);
  const arch = random.between(0.1, 1.6);
  const [start, end] = [random.between(0.3, 1), random.between(0.3, 1)];
  const [from, to] = [random.between(0.4, 1.5), random.between(0.4, 1.5)];
  const splay = random.between(-0.2, 0.2);
  return speeds(
    random,
    1.6,
  )((u, v) => {
    const radius = width * (start + (end - start) * (3 * u * u - 2 * u ** 3));
    const tilt = (from + (to - from) * u) * (v - 0.4);
    const turn = arch * (u - 0.5);
    const spine = length / arch + radius * Math.cos(tilt);
    return [
      spine * Math.sin(turn),
      radius * Math.sin(tilt) * 0.8 + splay * length * (u - 0.5),
      spine * Math.cos(turn),
    ];
  });
};

/** Deck: nearly flat, with a lip that rises exponentially or as a power towards one side. */
const deckWithLip: Recipe = (random) => {
  const size = extent(random);
  const [crown, lip] = [logBetween(random, 0.5, 30), logBetween(random, 3, 120)];
  const [rate, exponent] = [random.between(2, 9), random.between(2, 6)];
  const sharp = chance(random, 0.5);
  const along = chance(random, 0.5);
  const fade = chance(random, 0.5) ? 0 : logBetween(random, 0.02, 0.8);
  const rise = (t: number): number =>
    sharp ? Math.exp(rate * (t - 1)) : Math.pow(Math.max(t, 0), exponent);
  return speeds(
    random,
    1.5,
  )(
    overPlan(plan(random, size), (u, v) => {
      const [t, s] = along ? [u, v] : [v, u];
      return -crown * (2 * s - 1) ** 2 + lip * rise(t) * (1 - fade * (2 * s - 1) ** 2);
    }),
  );
};

/** Spoiler: a narrow cambered blade with sweep, taper and twist. */
const spoiler: Recipe = (random) => {
  const [length, chord] = [random.between(900, 2000), random.between(150, 450)];
  const [sweep, taper] = [logBetween(random, 1, 150), random.between(0, 0.5)];
  const [twist, camber] = [random.between(-0.3, 0.3), random.between(0.02, 0.15)];
  const [droop, lean] = [logBetween(random, 1, 80), random.between(-1, 1)];
  const even = chance(random, 0.6);
  return speeds(
    random,
    1.8,
  )((u, v) => {
    const s = 2 * u - 1;
    const own = chord * (1 - taper * s * s);
    const turn = twist * (even ? s * s : s);
    // mean line: a cubic through both edges, highest before or behind the middle
    const line = 4 * camber * v * (1 - v) * (1 + lean * (v - 0.5));
    const [y, z] = [own * (v - 0.5), own * line];
    return [
      0.5 * length * s,
      y * Math.cos(turn) - z * Math.sin(turn) - sweep * s * s,
      y * Math.sin(turn) + z * Math.cos(turn) - droop * s ** 4,
    ];
  });
};

/** Translation surface: one plane curve carried along another; no cross terms at all. */
const translation: Recipe = (random) => {
  const [length, width] = extent(random);
  const [first, second] = [anyPlaneCurve(random), anyPlaneCurve(random)];
  const [rise, crown] = [logBetween(random, 2, 250), logBetween(random, 1, 200)];
  return (u, v) => {
    const [a, b] = [first(u), second(v)];
    return [length * a[0], width * b[0], rise * a[1] + crown * b[1]];
  };
};

/** Curved one way only: a plane curve drawn out straight, along the panel or across it. */
const singleCurved: Recipe = (random) => {
  const [length, width] = extent(random);
  const curve = anyPlaneCurve(random);
  const depth = logBetween(random, 2, 350);
  const slant = chance(random, 0.5) ? 0 : random.between(-0.3, 0.3);
  const along = chance(random, 0.5);
  return (u, v) => {
    const [t, s] = along ? [u, v] : [v, u];
    const [x, z] = curve(t);
    const own = along ? length : width;
    const other = along ? width : length;
    const [a, b] = [own * x + slant * other * s, other * s];
    return along ? [a, b, depth * z] : [b, a, depth * z];
  };
};

/** Rotation surface: a plane curve turned through an angle about an axis beside it. */
const rotation: Recipe = (random) => {
  const [length, width] = extent(random);
  const curve = anyPlaneCurve(random);
  const depth = logBetween(random, 1, 200);
  const angle = random.between(0.1, 1.5);
  const radius = width / angle + (depth > 100 ? depth : 0);
  const tilt = chance(random, 0.5) ? 0 : random.between(-0.15, 0.15);
  return speeds(
    random,
    1.5,
    0.3,
  )((u, v) => {
    const [x, z] = curve(u);
    const own = radius + depth * z + tilt * length * (x - 0.5);
    const turn = angle * (v - 0.5);
    return [length * x, own * Math.sin(turn), own * Math.cos(turn)];
  });
};

/** Loft of conic sections: lean, height and weight change along, evenly or by a blend. */
const conicLoft: Recipe = (random) => {
  const [length, width] = extent(random);
  const ends = (low: number, high: number): readonly [number, number] => {
    const first = random.between(low, high);
    return [first, chance(random, 0.3) ? first : random.between(low, high)];
  };
  const [lean, height] = [ends(0.2, 0.8), ends(0.1, 0.8)];
  const weight = [logBetween(random, 0.3, 3), logBetween(random, 0.3, 3)];
  const blended = chance(random, 0.4);
  const [rise, curve] = [logBetween(random, 1, 100), anyPlaneCurve(random)];
  const narrow = random.between(-0.3, 0.3);
  return speeds(
    random,
    1.4,
    0.3,
  )((u, v) => {
    const t = blended ? u * u * (3 - 2 * u) : u;
    const at = ([a, b]: readonly number[]): number => a + (b - a) * t;
    const own = Math.pow(weight[0], 1 - t) * Math.pow(weight[1], t);
    const [y, z] = conicPoint(v, at(lean), at(height), own);
    const wide = width * (1 + narrow * (u - 0.5));
    return [length * u, wide * (y - 0.5), wide * z + rise * curve(u)[1]];
  });
};

/** Piece of a sphere, torus, cylinder or cone. */
const classicPiece: Recipe = (random) => {
  const [length, width] = extent(random);
  const kind = oneOf(random, ['sphere', 'torus', 'cylinder', 'cone'] as const);
  const [turnU, turnV] = [logBetween(random, 0.05, 1.4), logBetween(random, 0.05, 1.2)];
  const shift = random.between(-0.4, 0.4);
  const radius = width / turnV;
  if (kind === 'sphere')
    return (u, v) => {
      // longitude and latitude, the piece off the equator by `shift`
      const [a, b] = [(length / radius) * (u - 0.5), turnV * (v - 0.5) + shift];
      const [cap, own] = [Math.cos(b), Math.min(length / radius, 2) / (length / radius)];
      return [
        radius * cap * Math.sin(a * own),
        radius * Math.sin(b),
        radius * cap * Math.cos(a * own),
      ];
    };
  if (kind === 'torus') {
    const ring = length / turnU;
    return (u, v) => {
      const [a, b] = [turnU * (u - 0.5), turnV * (v - 0.5) + shift];
      const own = ring + radius * (Math.cos(b) - 1);
      return [own * Math.sin(a), radius * Math.sin(b), own * Math.cos(a)];
    };
  }
  const narrow = kind === 'cone' ? random.between(-0.7, 0.7) : 0;
  return (u, v) => {
    const own = radius * (1 + narrow * (u - 0.5));
    const b = turnV * (v - 0.5);
    return [length * u, own * Math.sin(b), own * Math.cos(b)];
  };
};

/** A curve in space near the straight line from `from` to `to`. */
function spaceCurve(random: SeededRandom, from: Vector, to: Vector): (t: number) => Vector {
  const [side, up] = [anyPlaneCurve(random), anyPlaneCurve(random)];
  const [sway, rise] = [logBetween(random, 1, 100), logBetween(random, 1, 150)];
  return (t) => [
    from[0] + (to[0] - from[0]) * t,
    from[1] + (to[1] - from[1]) * t + sway * side(t)[1],
    from[2] + (to[2] - from[2]) * t + rise * up(t)[1],
  ];
}

/** Two edges along a panel of a size, not parallel. */
function edges(
  random: SeededRandom,
  [length, width]: readonly [number, number],
): readonly [(t: number) => Vector, (t: number) => Vector] {
  const near = (x: number, y: number): Vector => [
    x + 0.04 * length * random.normal(),
    y + 0.06 * width * random.normal(),
    0.05 * length * random.normal(),
  ];
  return [
    spaceCurve(random, near(0, 0), near(length, 0)),
    spaceCurve(random, near(0, width), near(length, width)),
  ];
}

/** Straight lines between two edges, or nearly straight: a bulge of a few mm between. */
const ruled: Recipe = (random) => {
  const [near, far] = edges(random, extent(random));
  const bulge = chance(random, 0.5) ? 0 : logBetween(random, 0.2, 20);
  const across = anyCrown(random);
  return speeds(
    random,
    1.6,
    0.3,
  )((u, v) => {
    const [x, y, z] = sum(scaled(near(u), 1 - v), scaled(far(u), v));
    return [x, y, z + bulge * across(v)[1]];
  });
};

/** Panel alike about one or two middle lines: cosine-like sums of even terms. */
const symmetricPanel: Recipe = (random) => {
  const [length, width] = extent(random);
  const both = chance(random, 0.5);
  const [decayU, decayV] = [random.between(0.5, 2.5), random.between(0.5, 2.5)];
  const drop = chance(random, 0.25) ? 0 : logBetween(random, 0.01, 1);
  const size = logBetween(random, 4, 150);
  const terms: [number, number, number][] = [];
  for (let a = 0; a <= 8; a++)
    for (let b = 0; b <= 8; b += 2)
      if (a + b >= 2 && !(both && a % 2)) {
        const fall = Math.exp(-decayU * Math.max(a - 2, 0) - decayV * Math.max(b - 2, 0));
        terms.push([a, b, size * fall * (a > 0 && b > 0 ? drop : 1) * random.normal()]);
      }
  const narrow = both ? 0 : random.between(-0.2, 0.2);
  return (u, v) => {
    const [x, y] = [2 * u - 1, 2 * v - 1];
    const height = terms.reduce(
      (total, [a, b, factor]) => total + factor * Math.pow(x, a) * Math.pow(y, b),
      0,
    );
    return [0.5 * length * x, 0.5 * width * y * (1 + narrow * x), height];
  };
};

/** A soft crease along a straight or bent line, over a crowned panel. */
const softCrease: Recipe = (random) => {
  const size = extent(random);
  const [rise, crown] = [logBetween(random, 2, 100), logBetween(random, 2, 100)];
  const [along, across] = [anyCrown(random), anyCrown(random)];
  const [at, turn] = [random.between(0.2, 0.8), random.between(-0.35, 0.35)];
  const [bend, fade] = [chance(random, 0.5) ? 0 : 0.3 * random.normal(), random.between(0, 1)];
  const [width, depth] = [logBetween(random, 0.025, 0.2), logBetween(random, 2, 80)];
  const kind = oneOf(random, ['edge', 'step', 'bead'] as const);
  const lengthwise = chance(random, 0.7);
  const [alike, fading] = [chance(random, 0.3), chance(random, 0.4)];
  const profile = (off: number): number =>
    kind === 'edge'
      ? Math.sqrt(off * off + width * width)
      : kind === 'step'
        ? 0.3 * Math.tanh(off / (1.5 * width))
        : 0.3 / Math.cosh(off / (1.5 * width));
  return overPlan(plan(random, size), (u, v) => {
    const [t, s] = lengthwise ? [v, u] : [u, v];
    const line = alike ? at : at + turn * (s - 0.5) + bend * (s - 0.5) ** 2;
    const strength = depth * (fading ? 1 - fade * s * s : 1);
    return rise * along(u)[1] + crown * across(v)[1] + strength * profile(t - line);
  });
};

/** Cosine sums of few waves, each way, with decays drawn anew; separable ones among them. */
const cosineSums: Recipe = (random) => {
  const size = extent(random);
  const [decayU, decayV] = [random.between(0.6, 2.5), random.between(0.6, 2.5)];
  const drop = chance(random, 0.3) ? 0 : logBetween(random, 0.01, 1);
  const [most, height] = [2 + random.index(3), logBetween(random, 4, 120)];
  const terms: [number, number, number, number, number][] = [];
  for (let a = 0; a <= most; a++)
    for (let b = 0; b <= most; b++)
      if (a + b > 0)
        terms.push([
          0.5 * Math.PI * a,
          0.5 * Math.PI * b,
          random.between(0, 2 * Math.PI),
          random.between(0, 2 * Math.PI),
          height * Math.exp(-decayU * a - decayV * b) * (a > 0 && b > 0 ? drop : 1),
        ]);
  return overPlan(plan(random, size), (u, v) =>
    terms.reduce(
      (total, [a, b, first, second, factor]) =>
        total + factor * Math.cos(a * u + first) * Math.cos(b * v + second),
      0,
    ),
  );
};

/** Sums of Chebyshev polynomials in all three axes, up to a low degree; zero above. */
const powerSums: Recipe = (random) => {
  const [length, width] = extent(random);
  const degrees = [2 + random.index(5), 2 + random.index(4)];
  const decays = [random.between(0.4, 2.2), random.between(0.4, 2.2)];
  const drop = chance(random, 0.25) ? 0 : logBetween(random, 0.005, 1);
  const sizes = [0, 1, 2].map((axis) =>
    axis === 2 ? logBetween(random, 3, 100) : chance(random, 0.3) ? 0 : logBetween(random, 0.3, 40),
  );
  const factors = sizes.map((size) =>
    Array.from({ length: degrees[0] + 1 }, (_, a) =>
      Array.from({ length: degrees[1] + 1 }, (__, b) =>
        a < 2 && b < 2
          ? 0
          : size *
            random.normal() *
            (a > 0 && b > 0 ? drop : 1) *
            Math.exp(-decays[0] * Math.max(a - 2, 0) - decays[1] * Math.max(b - 2, 0)),
      ),
    ),
  );
  const chebyshev = (t: number, count: number): number[] => {
    const angle = Math.acos(Math.max(-1, Math.min(1, 2 * t - 1)));
    return Array.from({ length: count }, (_, a) => Math.cos(a * angle));
  };
  return (u, v) => {
    const [first, second] = [chebyshev(u, degrees[0] + 1), chebyshev(v, degrees[1] + 1)];
    const [x, y, z] = factors.map((rows) =>
      rows.reduce(
        (total, row, a) => total + first[a] * row.reduce((part, f, b) => part + f * second[b], 0),
        0,
      ),
    );
    return [length * u + x, width * v + y, z];
  };
};

/** Fillet-like strip: an arc or conic between two tangent lines, its radius changing along. */
const filletStrip: Recipe = (random) => {
  const length = random.between(500, 2000);
  const [first, last] = [random.between(60, 400), random.between(60, 400)];
  const angle = random.between(0.4, 1.7);
  const opening = chance(random, 0.5) ? 0 : random.between(-0.4, 0.4);
  const weight = chance(random, 0.5) ? Math.cos(angle / 2) : logBetween(random, 0.4, 1.5);
  const [bow, spine] = [logBetween(random, 1, 200), anyPlaneCurve(random)];
  return speeds(
    random,
    1.6,
    0.3,
  )((u, v) => {
    const own = first + (last - first) * u;
    const half = 0.5 * (angle + opening * (u - 0.5));
    const [y, z] = conicPoint(v, 0.5, 0.5 * Math.tan(half), weight);
    return [length * u, 2 * own * Math.sin(half) * (y - 0.5), 2 * own * z + bow * spine(u)[1]];
  });
};

/** A translation or crowned panel seen through a perspective change of its parameters. */
const perspective: Recipe = (random) => {
  const base = oneOf(random, [translation, crownedHood, singleCurved, symmetricPanel])(random);
  const [a, b] = [logBetween(random, 0.35, 2.8), logBetween(random, 0.35, 2.8)];
  const mixed = chance(random, 0.5) ? 1 : logBetween(random, 0.6, 1.6);
  return (u, v) => {
    // the unit square onto itself: each side keeps its line, corners weigh 1, a, b, a * b * mixed
    const corners = [(1 - u) * (1 - v), u * (1 - v) * a, (1 - u) * v * b, u * v * a * b * mixed];
    const total = corners[0] + corners[1] + corners[2] + corners[3];
    return base((corners[1] + corners[3]) / total, (corners[2] + corners[3]) / total);
  };
};

/** Strongly uneven parameter speed, by up to a factor of 6 from end to end, each way or one way. */
const strongSpeed: Recipe = (random) => {
  const base = oneOf(random, [translation, crownedHood, rotation, cosineSums])(random);
  return speeds(random, 6, 0.8)(base);
};

/** A section carried square to a bent line in plan, changing a little: a bumper. */
const sweptSection: Recipe = (random) => {
  const [length, height] = [random.between(900, 2200), random.between(200, 600)];
  const [bend, depth] = [logBetween(random, 0.1, 1.6), logBetween(random, 2, 150)];
  const [section, change] = [anyPlaneCurve(random), random.between(-0.4, 0.4)];
  const [gather, roll] = [chance(random, 0.5) ? 0 : random.between(0, 0.8), 0.2 * random.normal()];
  return speeds(
    random,
    1.5,
    0.3,
  )((u, v) => {
    const s = u - 0.5;
    // tangent angle of the line: an arc, its curvature gathered towards the ends or not
    const turn = bend * s * (1 + gather * (4 * s * s - 1));
    const radius = length / bend;
    const line: Vector = [
      radius * Math.sin(bend * s),
      radius * (Math.cos(bend * s) - 1),
      0.1 * roll * length * s * s,
    ];
    const outward: Vector = [Math.sin(turn), Math.cos(turn), 0];
    const [z, offset] = section(v);
    const out = depth * offset * (1 + change * s) + roll * height * (z - 0.5) * s;
    return sum(line, [outward[0] * out, outward[1] * out, height * (z - 0.5)]);
  });
};

/** A wide dome or trough on a crowned panel: a bonnet's power bulge. */
const domedPanel: Recipe = (random) => {
  const size = extent(random);
  const base = [logBetween(random, 2, 80), logBetween(random, 2, 80)];
  const [along, across] = [anyCrown(random), anyCrown(random)];
  const dome = logBetween(random, 1, 40) * signOf(random);
  const middle = [random.between(0.2, 0.8), chance(random, 0.5) ? 0.5 : random.between(0.2, 0.8)];
  const width = [random.between(0.2, 0.7), random.between(0.18, 0.6)];
  const long = chance(random, 0.4);
  return overPlan(plan(random, size), (u, v) => {
    const off = ((v - middle[1]) / width[1]) ** 2 + (long ? 0 : ((u - middle[0]) / width[0]) ** 2);
    const fade = long ? 1 / (1 + Math.exp((u - middle[0]) / (0.5 * width[0]))) : 1;
    return base[0] * along(u)[1] + base[1] * across(v)[1] + dome * fade * Math.exp(-off);
  });
};

/** Between four curves in space by bilinear blending (S. Coons, 1967). */
const fourEdges: Recipe = (random) => {
  const size = extent(random);
  const [near, far] = edges(random, size);
  const bow = (from: Vector, to: Vector): ((t: number) => Vector) => {
    const [side, up] = [anyCrown(random), anyCrown(random)];
    const [sway, rise] = [logBetween(random, 1, 60), logBetween(random, 1, 120)];
    // offsets less their chord, so that the ends stay at the corners
    const own = (curve: PlaneCurve, t: number): number =>
      curve(t)[1] - (1 - t) * curve(0)[1] - t * curve(1)[1];
    return (t) => [
      from[0] + (to[0] - from[0]) * t + sway * own(side, t),
      from[1] + (to[1] - from[1]) * t,
      from[2] + (to[2] - from[2]) * t + rise * own(up, t),
    ];
  };
  const [left, right] = [bow(near(0), far(0)), bow(near(1), far(1))];
  const corners = [near(0), near(1), far(0), far(1)];
  return (u, v) => {
    const along = sum(scaled(near(u), 1 - v), scaled(far(u), v));
    const over = sum(scaled(left(v), 1 - u), scaled(right(v), u));
    const flat = [(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v].reduce<Vector>(
      (total, weight, k) => sum(total, scaled(corners[k], weight)),
      [0, 0, 0],
    );
    return sum(sum(along, over), scaled(flat, -1));
  };
};

/** A Bezier net of low degree, drawn by hand: control points off an even grid by smooth amounts. */
const handDrawnNet: Recipe = (random) => {
  const [length, width] = extent(random);
  const [p, q] = [2 + random.index(3), 2 + random.index(2)];
  const [rise, crown] = [logBetween(random, 5, 150), logBetween(random, 5, 120)];
  const [slip, lift] = [logBetween(random, 0.5, 30), logBetween(random, 0.3, 30)];
  const net = Array.from({ length: p + 1 }, (_, i) =>
    Array.from({ length: q + 1 }, (__, j): Vector => {
      const [x, y] = [(2 * i) / p - 1, (2 * j) / q - 1];
      return [
        0.5 * length * x + slip * random.normal(),
        0.5 * width * y + slip * random.normal(),
        -rise * x * x - crown * y * y + lift * random.normal(),
      ];
    }),
  );
  const cast = (points: readonly Vector[], t: number): Vector =>
    points.length === 1
      ? points[0]
      : cast(
          points.slice(1).map((point, k) => sum(scaled(points[k], 1 - t), scaled(point, t))),
          t,
        );
  return (u, v) =>
    cast(
      net.map((row) => cast(row, v)),
      u,
    );
};

/** Panels of many kinds, by name. Written for learning: no test judges by them. */
export const recipes: Readonly<Record<string, Recipe>> = {
  crownedHood,
  shoulderedDoor,
  roof,
  tumblehomeFlank,
  fender,
  deckWithLip,
  spoiler,
  translation,
  singleCurved,
  rotation,
  conicLoft,
  classicPiece,
  ruled,
  symmetricPanel,
  softCrease,
  cosineSums,
  powerSums,
  filletStrip,
  perspective,
  strongSpeed,
  sweptSection,
  domedPanel,
  fourEdges,
  handDrawnNet,
};
