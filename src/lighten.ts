import type { Source } from './audit.ts';
import type { ControlNet } from './geometry/controlNet.ts';
import { recognisedFormat, type Format } from './intake/format.ts';
import type { FreeCurve } from './intake/freeCurve.ts';
import { igesFreeCurves } from './intake/iges/igesFreeCurves.ts';
import type { Panel } from './intake/panel.ts';
import { readSurfaces, unreadIntake } from './intake/readSurfaces.ts';
import { stepFreeCurves } from './intake/step/stepFreeCurves.ts';
import { lightening, pricesOf, type Lightening } from './measure/lighterBuilds.ts';
import { curveLightening } from './measure/lighterCurves.ts';
import type { LightenedThing, Lightened } from './writers/lightenedText.ts';
import type { WrittenFormat } from './writers/surfaces/changedFile.ts';
import type { NetChange } from './writers/surfaces/netChange.ts';
import type { CurveChange, Rebuilding, RebuiltFile } from './writers/surfaces/rebuilt.ts';
import { rebuiltIges } from './writers/surfaces/rebuiltIges.ts';
import { rebuiltNetJson } from './writers/surfaces/rebuiltNetJson.ts';
import { rebuiltStep } from './writers/surfaces/rebuiltStep.ts';

/** How light: within which distance (mm), and whether degrees of five or less may go down for it. */
export interface LightenOrder {
  readonly within: number;
  readonly lowerDegree: boolean;
}

const rebuilders: Readonly<
  Record<WrittenFormat, (bytes: Uint8Array, wanted: Rebuilding) => RebuiltFile>
> = { iges: rebuiltIges, step: rebuiltStep, 'net-json': rebuiltNetJson };

const isWritten = (format: Format | null): format is WrittenFormat =>
  format !== null && format in rebuilders;

const freeCurves: Readonly<Partial<Record<Format, (bytes: Uint8Array) => FreeCurve[]>>> = {
  iges: igesFreeCurves,
  step: stepFreeCurves,
};

/** The panels with the builds chosen; each net is looked at once, however many faces trim it. */
function lightPanels(
  panels: readonly Panel[],
  choose: 'fewer' | 'lightest',
  within: number,
): { readonly things: LightenedThing[]; readonly changes: NetChange[] } {
  const known = new Map<ControlNet, Lightening>();
  const changes: NetChange[] = [];
  const things = panels.map((panel): LightenedThing => {
    const { net, trim } = panel;
    const found = known.get(net) ?? lightening(net, within);
    known.set(net, found);
    const chosen = found[choose];
    if (chosen.net !== net) changes.push({ panel, net: chosen.net });
    return {
      name: panel.name,
      prices: pricesOf(found.prices),
      build: chosen.net === net ? null : pricesOf([chosen])[0],
      tolerance: trim.kind === 'part' ? trim.region.tolerance : null,
    };
  });
  return { things, changes };
}

function lightCurves(
  curves: readonly FreeCurve[],
  choose: 'fewer' | 'lightest',
  within: number,
): { readonly things: LightenedThing[]; readonly changes: CurveChange[] } {
  const changes: CurveChange[] = [];
  const things = curves.map((free): LightenedThing => {
    const { curve, build, prices } = curveLightening(free.curve, within, choose);
    if (curve !== free.curve) changes.push({ free, curve });
    return { name: free.name, prices, build: curve === free.curve ? null : build, tolerance: null };
  });
  return { things, changes };
}

/**
 * A file with its surfaces and free curves built more lightly: bytes -> panels and curves -> builds ->
 * bytes. What is not built anew stays byte for byte; there are no bytes where nothing is.
 */
export function lightenedFile(
  source: Exclude<Source, { readonly scan: unknown }>,
  { within, lowerDegree }: LightenOrder,
): Lightened {
  const choose = lowerDegree ? 'lightest' : 'fewer';
  const intake =
    'fault' in source ? unreadIntake(source.fault) : readSurfaces(source.name, source.bytes);
  const { panels, faults, notices } = intake;
  const recognised = 'fault' in source ? null : recognisedFormat(source.name, source.bytes);
  const format = typeof recognised === 'string' ? recognised : null;
  const surfaces = lightPanels(panels, choose, within);
  const read =
    'bytes' in source && format !== null ? (freeCurves[format]?.(source.bytes) ?? []) : [];
  const curves = lightCurves(read, choose, within);
  const wanted = { nets: surfaces.changes, curves: curves.changes };
  const made =
    'bytes' in source && isWritten(format) && wanted.nets.length + wanted.curves.length > 0
      ? rebuilders[format](source.bytes, wanted)
      : null;
  const refused = made?.refused ?? [];
  const isChanged = wanted.nets.length + wanted.curves.length > refused.length;
  return {
    file: source.name,
    format,
    isWritten: isWritten(format),
    within,
    lowerDegree,
    bytes: made && isChanged ? made.bytes : null,
    panels: surfaces.things,
    curves: curves.things,
    refused,
    faults,
    notices,
  };
}
