import { fault, type Notice, type Place } from '../fault.ts';
import { FaultList } from '../faultList.ts';
import { printable } from '../iges/igesDirectory.ts';
import { decoded } from '../iges/igesFields.ts';
import { freeForm, passedOver } from '../objMesh/objStatements.ts';
import { lineFinder } from '../step/lineFinder.ts';
import type { CurveUse, ObjAttributes, ObjElement, ObjLoop } from './objElements.ts';
import { ObjPoints } from './objPoints.ts';
import { ObjText } from './objText.ts';

/** Patches of version 2.11 and older (section "Superseded statements"). */
export type OldPatch = 'bsp' | 'bzp' | 'cdp';

/** All that an OBJ file says of free-form surfaces, before any is made. */
export interface ObjFile {
  /** x, y, z and the weight of every `v`. */
  readonly vertices: ObjPoints;
  /** u, v and the weight of every `vp`; v is NaN where only u is given. */
  readonly parameterVertices: ObjPoints;
  readonly curves: readonly ObjElement[];
  readonly surfaces: readonly ObjElement[];
  readonly oldPatches: ReadonlyMap<OldPatch, readonly Place[]>;
  readonly faults: FaultList;
  readonly notices: readonly Notice[];
}

/** An element while its statements are read; a curve in space (`curv`) is only followed to its end. */
type OpenElement = { -readonly [Key in keyof Omit<ObjElement, 'kind'>]: ObjElement[Key] } & {
  readonly kind: ObjElement['kind'] | 'curv';
  readonly points: number[];
  readonly loops: ObjLoop[];
};

const nothingSet: ObjAttributes = {
  type: null,
  rational: false,
  degree: [],
  matrices: [null, null],
  step: [],
};

/** Numbers before the points in a surf statement: s0 s1 t0 t1. */
const rangeLength = 4;
/** Numbers of one use of a curve in trim and hole: u0 u1 curv2d. */
const useLength = 3;

const [letterF, letterV, lineBlank] = [102, 118, 32];

/** Words that are statements of version 2.11 and say nothing of surfaces. */
const oldStatements: ReadonlySet<string> = new Set(['cdc', 'res', 'scmp']);

/**
 * Reads the statements of an OBJ file once from front to back (description of the format in the version
 * 3.0, appendix B1 "Object files"; sections are cited by their titles). Attributes hold for an element
 * as they stand where it begins, and a negative number counts back from there; a positive one may mean
 * a point further on.
 */
export function objFile(bytes: Uint8Array): ObjFile {
  const text = new ObjText(bytes);
  const lineOf = lineFinder(bytes);
  const faults = new FaultList();
  const vertices = new ObjPoints(4);
  const parameterVertices = new ObjPoints(3);
  const curves: ObjElement[] = [];
  const surfaces: ObjElement[] = [];
  const patches = new Map<OldPatch, Place[]>();
  let attributes = nothingSet;
  let name = '';
  let groups: readonly string[] = [];
  let open: OpenElement | null = null;
  let faces = 0;
  /** Lines passed over, and the first of them. */
  const strange = { count: 0, word: '', at: 0 };
  /** Statements that would bring in what another file or program says. */
  const outside = new Map<string, { count: number; readonly line: number }>();

  const placeHere = (record?: string, at = text.at): Place =>
    record === undefined ? { line: lineOf(at) } : { line: lineOf(at), record };

  /** The number here; NaN, which is told, where none stands. */
  function toldNumber(record: string): number {
    const from = text.at;
    const value = text.number();
    if (Number.isNaN(value))
      faults.add(
        fault('bad-number', placeHere(record, from), { what: 'number', text: text.shown(from) }),
      );
    return value;
  }

  /** All numbers that are left of the statement; null where one is none, which is told. */
  function numbers(record: string): number[] | null {
    const found: number[] = [];
    while (text.hasWord()) {
      const value = toldNumber(record);
      if (Number.isNaN(value)) return null;
      found.push(value);
    }
    return found;
  }

  /** The number of the point or curve that the index here means; NaN where it means none, which is told. */
  function numberHere(
    what: string,
    held: number,
    numberOf: (index: number) => number,
    record: string,
  ): number {
    const from = text.at;
    const index = text.index();
    const number = numberOf(index);
    if (Number.isNaN(number))
      faults.add(
        Number.isNaN(index)
          ? fault('bad-number', placeHere(record, from), {
              what: 'integer',
              text: text.shown(from),
            })
          : fault('obj-index', placeHere(record, from), { what, found: index, held }),
      );
    return number;
  }

  /** v x y z w (section "Vertex data"). Three numbers behind z are a colour; common practice. */
  function takeVertex(): void {
    vertices.add();
    for (let axis = 0; axis < 3; axis++) {
      if (!text.hasWord()) {
        faults.add(
          fault('wrong-count', placeHere(`v ${vertices.count}`), {
            what: 'coordinates',
            found: axis,
            expected: 3,
          }),
        );
        for (let lost = axis; lost < 3; lost++) vertices.set(lost, NaN);
        break;
      }
      const from = text.at;
      const value = text.number();
      if (Number.isNaN(value))
        faults.add(
          fault('bad-number', placeHere(`v ${vertices.count}`, from), {
            what: 'coordinate',
            text: text.shown(from),
          }),
        );
      vertices.set(axis, value);
    }
    let weight = 1;
    let more = 0;
    while (text.hasWord()) {
      const value = text.number();
      if (more++ === 0) weight = value;
    }
    vertices.set(3, more === 3 ? 1 : weight);
  }

  /** vp u v w (section "Vertex data"). */
  function takeParameterVertex(): void {
    parameterVertices.add();
    const record = `vp ${parameterVertices.count}`;
    for (let axis = 0; axis < 3; axis++) {
      const isGiven = text.hasWord();
      if (!isGiven && axis === 0)
        faults.add(
          fault('wrong-count', placeHere(record), { what: 'coordinates', found: 0, expected: 1 }),
        );
      const unsaid = axis === 2 ? 1 : NaN;
      parameterVertices.set(axis, isGiven ? toldNumber(record) : unsaid);
    }
  }

  function close(isEnded: boolean): void {
    if (!open) return;
    if (!isEnded) {
      open.isBroken = true;
      faults.add(fault('obj-unended', open.place, {}));
    }
    const { kind } = open;
    if (kind === 'curv2') curves.push({ ...open, kind });
    else if (kind === 'surf') surfaces.push({ ...open, kind });
    open = null;
  }

  function begin(kind: OpenElement['kind'], at: number): OpenElement {
    close(false);
    // Broken ones keep their numbers, by which others refer to them.
    const list = kind === 'surf' ? surfaces : curves;
    open = {
      kind,
      place: placeHere(kind === 'curv' ? kind : `${kind} ${list.length + 1}`, at),
      name,
      groups,
      attributes,
      range: [],
      points: [],
      parameters: [null, null],
      loops: [],
      isBroken: false,
    };
    return open;
  }

  /** Takes the points of a curve or surface up to the end of the statement. */
  function takePoints(element: OpenElement, what: string, points: ObjPoints): void {
    const { record = '' } = element.place;
    while (text.hasWord() && !element.isBroken) {
      const number = numberHere(what, points.count, (index) => points.numberOf(index), record);
      if (Number.isNaN(number)) element.isBroken = true;
      else element.points.push(number);
    }
  }

  function takeSurface(at: number): void {
    const element = begin('surf', at);
    const { record = '' } = element.place;
    const range: number[] = [];
    while (range.length < rangeLength && text.hasWord() && !element.isBroken) {
      const value = toldNumber(record);
      if (Number.isNaN(value)) element.isBroken = true;
      else range.push(value);
    }
    element.range = range;
    if (!element.isBroken && range.length < rangeLength) {
      element.isBroken = true;
      faults.add(
        fault('wrong-count', element.place, {
          what: 'numbers of the parameter range',
          found: range.length,
          expected: rangeLength,
        }),
      );
    }
    takePoints(element, 'vertex', vertices);
  }

  /** u or v, which a statement of one direction begins with; null where neither stands there. */
  function directionHere(): 0 | 1 | null {
    const word = text.hasWord() ? text.word() : '';
    if (word === 'u') return 0;
    return word === 'v' ? 1 : null;
  }

  function takeParameters(element: OpenElement): void {
    const side = directionHere();
    const found = side === null ? null : numbers(element.place.record ?? '');
    if (side === null || !found) element.isBroken = true;
    if (side === null) faults.add(fault('obj-attribute', element.place, { what: 'parm' }));
    // "If multiple parameter value statements ... are used ..., the last statement is used."
    else if (side === 0) element.parameters = [found, element.parameters[1]];
    else element.parameters = [element.parameters[0], found];
  }

  function takeLoop(element: OpenElement, kind: ObjLoop['kind'], at: number): void {
    const place = placeHere(element.place.record, at);
    const record = element.place.record ?? '';
    const uses: CurveUse[] = [];
    let read = 0;
    while (text.hasWord()) {
      const from = toldNumber(record);
      const to = text.hasWord() ? (read++, toldNumber(record)) : NaN;
      const curve = text.hasWord()
        ? (read++, numberHere('trimming curve', curves.length, curveNumber, record))
        : NaN;
      read++;
      uses.push({ from, to, curve });
    }
    if (read === 0 || read % useLength !== 0)
      faults.add(
        fault('wrong-count', place, {
          what: `numbers of ${kind}`,
          found: read,
          expected: Math.max(Math.ceil(read / useLength), 1) * useLength,
        }),
      );
    element.loops.push({ kind, place, uses });
  }

  /** Curves are referred to as points are; they must stand before the surface. */
  function curveNumber(index: number): number {
    const number = index < 0 ? curves.length + 1 + index : index;
    return number >= 1 && number <= curves.length ? number : NaN;
  }

  /** The names of groups on a line: all elements behind it are in each of them. */
  function takeName(isGroup: boolean): void {
    text.hasWord();
    const words = decoded(text.rest())
      .replace(/\\[^\S\n\r]*(\r\n|\n|\r)/g, ' ')
      .split(/\s+/);
    const shown = printable(words.join(' '));
    const isNone = isGroup && shown === 'default';
    name = isNone ? '' : shown;
    if (isGroup)
      groups = name === '' ? [] : [...new Set(words.map(printable).filter((word) => word))].sort();
  }

  /** cstype rat type. */
  function takeType(): void {
    const words: string[] = [];
    while (text.hasWord()) words.push(text.word());
    const rational = words[0] === 'rat';
    attributes = { ...attributes, rational, type: words[rational ? 1 : 0] ?? null };
  }

  function takeMatrix(): void {
    const side = directionHere();
    const matrix = side === null ? null : numbers('bmat');
    const [u, v] = attributes.matrices;
    if (side === 0) attributes = { ...attributes, matrices: [matrix, v] };
    else if (side === 1) attributes = { ...attributes, matrices: [u, matrix] };
    else addStrange('bmat', text.at);
  }

  function addStrange(word: string, at: number): void {
    if (strange.count++ === 0) Object.assign(strange, { word, at });
  }

  function takeBody(word: string, at: number): void {
    if (!open) addStrange(word, at);
    else if (word === 'end') close(true);
    else if (open.kind === 'curv') return;
    else if (word === 'parm') takeParameters(open);
    else if (open.kind === 'surf') takeLoop(open, word === 'trim' ? 'trim' : 'hole', at);
  }

  function takeOther(word: string, at: number): void {
    switch (word) {
      case 'v':
        return takeVertex();
      case 'vp':
        return takeParameterVertex();
      case 'f':
      case 'fo':
        faces++;
        return;
      case 'g':
        return takeName(true);
      case 'o':
        return takeName(false);
      case 'cstype':
        return takeType();
      case 'deg':
        attributes = { ...attributes, degree: numbers('deg') ?? [] };
        return;
      case 'step':
        attributes = { ...attributes, step: numbers('step') ?? [] };
        return;
      case 'bmat':
        return takeMatrix();
      case 'surf':
        return takeSurface(at);
      case 'curv2':
        return takePoints(begin('curv2', at), 'parameter vertex', parameterVertices);
      case 'curv':
        begin('curv', at);
        return;
      case 'parm':
      case 'trim':
      case 'hole':
      case 'end':
        return takeBody(word, at);
      case 'bsp':
      case 'bzp':
      case 'cdp': {
        const places = patches.get(word);
        if (places) places.push(placeHere(undefined, at));
        else patches.set(word, [placeHere(undefined, at)]);
        return;
      }
      case 'call':
      case 'csh': {
        const known = outside.get(word);
        if (known) known.count++;
        else outside.set(word, { count: 1, line: lineOf(at) });
        return;
      }
      default:
        if (!passedOver.has(word) && !freeForm.has(word) && !oldStatements.has(word))
          addStrange(word, at);
    }
  }

  while (text.nextStatement()) {
    const { at } = text;
    // Nearly all lines are points and polygons, which are told by their first letters.
    const isLetter = bytes[at + 1] <= lineBlank;
    if (isLetter && bytes[at] === letterV) {
      text.at++;
      takeVertex();
    } else if (isLetter && bytes[at] === letterF) faces++;
    else takeOther(text.word(), at);
    text.skipStatement();
  }
  close(false);

  const notices: Notice[] = [...outside].map(([what, { count, line }]) => ({
    code: 'obj-outside',
    place: { line },
    data: { what, count },
  }));
  if (faces > 0) notices.push({ code: 'obj-faces', place: {}, data: { count: faces } });
  if (strange.count > 0)
    notices.push({
      code: 'mesh-text-unread',
      place: { line: lineOf(strange.at) },
      data: { count: strange.count, text: printable(strange.word.slice(0, 40)) },
    });
  return { vertices, parameterVertices, curves, surfaces, oldPatches: patches, faults, notices };
}
