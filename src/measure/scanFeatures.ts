import type { ControlNet } from '../geometry/controlNet.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { crossings, type Crossing } from './crossings.ts';
import { encroachments, type Encroachment, type Gate } from './encroachments.ts';
import type { ParameterQuad } from './featureMask.ts';
import { scanView, type FeatureBounds } from './featureMeetings.ts';
import { leanLines, type LeanLines } from './leanLines.ts';
import { leanSteps } from './leanSteps.ts';
import type { Kept } from './surfaceLook.ts';

/** Where a panel lies over fillets and feature lines of a scan. */
export interface ScanFeatures {
  /** The deepest first. */
  readonly encroachments: readonly Encroachment[];
  /** The longest first. */
  readonly crossings: readonly Crossing[];
  /** What of the panel lies over them, for featureMask. */
  readonly cover: readonly ParameterQuad[];
  /** Of the scan's vertices about their surface, mm. */
  readonly noise: number;
}

/** A panel, its outline (of outlineEdges), what of it is kept, and a scan. */
export interface FeatureSubject {
  readonly net: ControlNet;
  readonly edges: readonly OutlineEdge[];
  readonly kept: Kept;
  readonly body: ScanBody;
}

/** mm, and edges of the scan, over which leans are averaged where it is asked what is worth a close look. */
const window = 12;
const windowEdges = 4;
/** A close look is worth its time from these shares of the least turn on, by what noise does. */
const [leastShare, mostShare] = [0.5, 0.9];
/** Standard deviations of noise that are no reason to look. */
const noiseSigmas = 4;
/** The median of the amounts of normal deviates. */
const medianAmount = 0.6745;

function gateOf(lines: readonly LeanLines[], { turn }: FeatureBounds, spacing: number): Gate {
  const wide = Math.max(window, windowEdges * spacing);
  const amounts: number[] = [];
  for (const { leans, step } of lines) {
    const width = Math.max(2, Math.round(wide / step));
    for (const line of leans) {
      const steps = leanSteps(line, width);
      for (let k = 0; k < steps.length; k += width)
        if (!Number.isNaN(steps[k])) amounts.push(Math.abs(steps[k]));
    }
  }
  const middle = amounts.sort((a, b) => a - b)[amounts.length >> 1] ?? 0;
  const noise = (noiseSigmas * middle) / medianAmount;
  return { window: wide, least: Math.min(mostShare * turn, Math.max(leastShare * turn, noise)) };
}

/**
 * Where a panel lies over a fillet or a feature line of a scan: where the scan itself turns much more
 * tightly than the panel, along its border and through it. Null where no scan lies behind the panel.
 */
export function scanFeatures(
  { net, edges, kept, body }: FeatureSubject,
  bounds: FeatureBounds,
): ScanFeatures | null {
  const view = scanView(net, kept, body);
  if (!view) return null;
  const lines = ([0, 1] as const).map((side) => leanLines(view, side));
  const gate = gateOf(lines, bounds, body.spacing);
  const border = encroachments(view, edges, bounds, gate);
  const inner = crossings(view, lines, bounds, gate, border);
  return {
    encroachments: border.found,
    crossings: inner.found,
    cover: [...border.cover, ...inner.cover],
    noise: view.noise,
  };
}
