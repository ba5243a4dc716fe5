import { scanOfShape } from '../../fixtures/featureScan.ts';
import { unevenNet, wideFamilies } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';

/** What is not smooth about a clean scan, or about its panel. */
const kinds = ['plain', 'wobble', 'dip', 'dip at the border', 'holes', 'uneven', 'ragged'] as const;

/**
 * A panel of any family, 300 to 960 mm long, and a scan of it without a feature: triangles of 1.5 to 6 mm,
 * noise up to 0.1 mm, and by its number a wobble or dip of up to 2 mm that is 50 to 300 mm long, holes, a
 * panel whose points are off by millimetres, or a border that is bitten and rough to 0.4 mm.
 */
export function cleanScan(number: number): { readonly net: ControlNet; readonly mesh: Mesh } {
  const random = seededRandom(1000 + number);
  const kind = kinds[number % kinds.length];
  const full = wideFamilies[number % wideFamilies.length].net(random);
  const scale = random.between(0.25, 0.8);
  const net = { ...full, points: full.points.map((x) => x * scale) };
  const [wide, high] = [1200 * scale, 600 * scale];
  const size = Math.exp(random.between(Math.log(1.5), Math.log(6)));
  const noise = random.between(0, 0.1);
  const [length, height] = [random.between(50, 300), random.between(0.2, 2)];
  const [way, phase] = [random.between(0, Math.PI), random.between(0, 2 * Math.PI)];
  const [x, y] = [random.between(0, wide), kind === 'dip' ? random.between(0, high) : 0];
  const holes = Array.from({ length: 12 }, () => [
    random.between(0, wide),
    random.between(0, high),
    random.between(4, 25),
  ]);
  const toBorder = (a: number, b: number): number => Math.min(a, b, wide - a, high - b);
  const raised = (a: number, b: number): number => {
    switch (kind) {
      case 'wobble':
        return (
          height *
          Math.sin((2 * Math.PI * (a * Math.cos(way) + b * Math.sin(way))) / length + phase)
        );
      case 'dip':
      case 'dip at the border':
        return height * Math.exp(-0.5 * (4.5 / length) ** 2 * ((a - x) ** 2 + (b - y) ** 2));
      case 'ragged':
        return toBorder(a, b) < 2 * size ? 0.4 * random.normal() : 0;
      default:
        return 0;
    }
  };
  const isHole = (a: number, b: number): boolean => {
    if (kind === 'holes') return holes.some(([p, q, r]) => Math.hypot(a - p, b - q) < r);
    const off = toBorder(a, b);
    const bite = Math.sin(0.37 * a) + Math.sin(0.41 * b) + Math.sin(0.11 * (a + b));
    return kind === 'ragged' && off < 12 && bite > 0.6 + 0.1 * off;
  };
  const mesh = scanOfShape(
    (a, b) => {
      const share = (value: number, all: number): number => Math.min(1, Math.max(0, value / all));
      const jet = surfaceJet(net, share(a, wide), share(b, high));
      const normal = surfaceNormal(jet) ?? [0, 0, 1];
      const off = raised(a, b);
      return { point: jet.point.map((value, axis) => value + off * normal[axis]), normal };
    },
    [2, wide - 2],
    [2, high - 2],
    { size, noise, random },
    isHole,
  );
  return {
    net: kind === 'uneven' ? unevenNet(net, random, random.between(0.3, 3)) : net,
    mesh,
  };
}
