import type { SplineCurve } from '../../geometry/splineCurve.ts';
import type { Border, BorderPiece } from '../../geometry/trimRegion.ts';
import { fault, type Fault } from '../fault.ts';
import { curvesBetween, segmentCurves } from './vdaCurves.ts';
import type { VdaElements } from './vdaElements.ts';
import { VdaParameters } from './vdaParameters.ts';
import {
  placeOf,
  type VdaCommand,
  type VdaStatement,
  type VdaStatements,
} from './vdaStatements.ts';

/** Why a border cannot be read: it names something that is not there, or its numbers are no curves. */
type Unread = 'pointer' | 'data';

/** A face: its surface, and the borders that cut it, or why one of them cannot be read. */
export interface VdaFace {
  readonly statement: VdaStatement;
  readonly surface: VdaStatement;
  readonly borders: readonly Border[] | Unread;
}

export interface VdaFaces {
  readonly faces: readonly VdaFace[];
  readonly faults: readonly Fault[];
}

/** A curve on a surface: pieces of border in its own sense; each is a curve in the plane or in space. */
interface CurveOnSurface {
  readonly surface: VdaStatement;
  readonly curves: readonly SplineCurve[];
}

/** Curves that borders hand out in one file, over which it is no model but a trap. */
const mostCurves = 2_000_000;
/** Parameters of the shortest loop: the count of its pieces and one piece. */
const leastOfLoop = 4;
const leastOfPiece = 3;

const named: Partial<Record<VdaCommand, string>> = {
  SURF: 'surface',
  CONS: 'curve on a surface',
  CURVE: 'curve',
};

/** What a name stands for; the fault where it is nothing of this kind. */
export function referred(
  elements: VdaElements,
  name: string,
  from: VdaStatement,
  command: VdaCommand,
): VdaStatement | Fault {
  const found = elements.find(name, from);
  return found?.command === command
    ? found
    : fault('vda-reference', placeOf(from), { what: named[command] ?? command, to: name });
}

/**
 * The faces of a file. FACE / surface, number of loops, and for each loop the number of its pieces and
 * for each piece a CONS, and from which to which of its parameters it runs, backwards where the first
 * is the larger. CONS / surface, curve in space (may be left out), from which to which of its
 * parameters that runs, then segments in the surface's parameters s and t; where there is no segment
 * the curve in space is the border. Source: DIN 66301, CONS and FACE; from memory.
 */
export function vdaFaces(file: VdaStatements, elements: VdaElements): VdaFaces {
  const faults: Fault[] = [];
  const known = new Map<VdaStatement, CurveOnSurface | null>();
  const inSpace = new Map<VdaStatement, readonly SplineCurve[] | Fault>();
  let left = mostCurves;

  function curveOnSurface(statement: VdaStatement): CurveOnSurface | Fault {
    const parameters = new VdaParameters(file, statement);
    const [surfaceName, curveName] = [parameters.name(), parameters.name()];
    const [from, to] = parameters.numbers(2);
    if (parameters.fault) return parameters.fault;
    const surface = referred(elements, surfaceName, statement, 'SURF');
    if ('code' in surface) return surface;
    const plane = segmentCurves(parameters, 2, placeOf(statement));
    if ('code' in plane) return plane;
    if (plane.length > 0) return { surface, curves: plane };
    const curve = referred(elements, curveName, statement, 'CURVE');
    if ('code' in curve) return curve;
    const space = spaceCurves(curve);
    if ('code' in space) return space;
    left -= space.length;
    if (left < 0) return spent(statement);
    return { surface, curves: curvesBetween(space, from, to) };
  }

  function spaceCurves(statement: VdaStatement): readonly SplineCurve[] | Fault {
    const read =
      inSpace.get(statement) ??
      segmentCurves(new VdaParameters(file, statement), 3, placeOf(statement));
    inSpace.set(statement, read);
    return read;
  }

  const spent = (statement: VdaStatement): Fault =>
    fault('too-deep', placeOf(statement), { what: 'curves', most: mostCurves });

  /** Each is read once, and what is wrong with it told once. */
  function knownCurve(statement: VdaStatement): CurveOnSurface | null {
    const before = known.get(statement);
    if (before !== undefined) return before;
    const read = curveOnSurface(statement);
    const found = 'code' in read ? null : read;
    if ('code' in read) faults.push(read);
    known.set(statement, found);
    return found;
  }

  const pieceOf = (curve: SplineCurve): BorderPiece =>
    curve.dimension === 2 ? { plane: curve, space: null } : { plane: null, space: curve };

  /** One piece of a border, or why it cannot be read, which is told. */
  function pieces(
    face: VdaStatement,
    surface: VdaStatement,
    name: string,
    [from, to]: Float64Array,
  ): readonly BorderPiece[] | Unread {
    const cons = referred(elements, name, face, 'CONS');
    if ('code' in cons) {
      faults.push(cons);
      return 'pointer';
    }
    const curve = knownCurve(cons);
    if (!curve) return 'data';
    if (curve.surface !== surface) {
      faults.push(
        fault('vda-reference', placeOf(face), { what: 'curve on its surface', to: name }),
      );
      return 'pointer';
    }
    left -= curve.curves.length;
    if (left < 0) {
      faults.push(spent(face));
      return 'data';
    }
    return curvesBetween(curve.curves, from, to).map(pieceOf);
  }

  function bordersOf(
    parameters: VdaParameters,
    face: VdaStatement,
    surface: VdaStatement,
  ): readonly Border[] | Unread {
    const borders: Border[] = [];
    for (let loops = parameters.count('loops', leastOfLoop); loops > 0; loops--) {
      const border: BorderPiece[] = [];
      for (let count = parameters.count('pieces of a border', leastOfPiece); count > 0; count--) {
        const name = parameters.name();
        const range = parameters.numbers(2);
        if (parameters.fault) return 'data';
        const found = pieces(face, surface, name, range);
        if (typeof found === 'string') return found;
        for (const piece of found) border.push(piece);
      }
      borders.push(border);
    }
    parameters.end();
    return parameters.fault ? 'data' : borders;
  }

  const faces: VdaFace[] = [];
  for (const statement of elements.of('FACE')) {
    const parameters = new VdaParameters(file, statement);
    const name = parameters.name();
    const surface = parameters.fault ?? referred(elements, name, statement, 'SURF');
    if ('code' in surface) {
      faults.push(surface);
      continue;
    }
    const borders = bordersOf(parameters, statement, surface);
    if (parameters.fault) faults.push(parameters.fault);
    faces.push({ statement, surface, borders });
  }
  return { faces, faults };
}
