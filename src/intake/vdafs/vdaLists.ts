import { composed, inPlace, isSolid, type Placement } from '../../geometry/placement.ts';
import { fault, type Fault } from '../fault.ts';
import { VdaParameters } from './vdaParameters.ts';
import type { VdaElements } from './vdaElements.ts';
import { referred } from './vdaFaces.ts';
import { placeOf, type VdaStatement, type VdaStatements } from './vdaStatements.ts';

/** One place at which a panel stands: by itself, or as a copy that a list makes of it. */
export interface Standing {
  /** Number of the panel. */
  readonly panel: number;
  readonly placement: Placement;
  /** The list that makes it; null for the panel itself. */
  readonly list: VdaStatement | null;
  /** Names of the sets, groups and lists it belongs to. */
  readonly groups: Set<string>;
}

export interface VdaLists {
  /** The panels themselves in order, then the copies in order of the lists that make them. */
  readonly standings: readonly Standing[];
  readonly faults: readonly Fault[];
}

/** Lists deeper in each other than this are a circle, or not made by any writer. */
const deepest = 64;
/** Members of lists, counted as often as they are named, over which a file is no model but a trap. */
const mostMembers = 100_000;

/**
 * Where the panels of a file stand, by GROUP / n, names; TMAT / nine numbers of a matrix row by row,
 * three of a shift; TLIST / TMAT, n, names (DIN 66301; from memory). A TLIST is an element of its own:
 * it holds its elements once more, placed by the matrix, and the elements themselves stay where they
 * are, so that of parts that are alike but for a mirror one is sent (from memory, not held against the
 * text; so that no surface is ever left out for a list). Groups and lists may hold groups and lists.
 *
 * `panelsOf` gives the numbers of the panels that an element stands for, in all `elementsOfPanels`.
 */
export function vdaLists(
  file: VdaStatements,
  elements: VdaElements,
  elementsOfPanels: readonly VdaStatement[],
  panelsOf: (element: VdaStatement) => readonly number[],
): VdaLists {
  const faults: Fault[] = [];
  const alone = elementsOfPanels.map(({ sets }, panel): Standing => ({
    panel,
    placement: inPlace,
    list: null,
    groups: new Set(sets),
  }));
  const copies: Standing[] = [];
  const known = new Map<VdaStatement, readonly Standing[]>();
  const matrices = new Map<VdaStatement, Placement | null>();
  const open = new Set<VdaStatement>();
  let left = mostMembers;
  let isSpent = false;

  function matrixOf(list: VdaStatement, name: string): Placement | null {
    const matrix = referred(elements, name, list, 'TMAT');
    if ('code' in matrix) {
      faults.push(matrix);
      return null;
    }
    const before = matrices.get(matrix);
    if (before !== undefined) return before;
    const found = readMatrix(matrix);
    matrices.set(matrix, found);
    return found;
  }

  /** Null where it places nothing, which is told. */
  function readMatrix(matrix: VdaStatement): Placement | null {
    const parameters = new VdaParameters(file, matrix);
    const n = parameters.numbers(12);
    parameters.end();
    const placement: Placement = {
      rotation: [
        [n[0], n[1], n[2]],
        [n[3], n[4], n[5]],
        [n[6], n[7], n[8]],
      ],
      shift: [n[9], n[10], n[11]],
    };
    const wrong =
      parameters.fault ??
      (isSolid(placement) ? null : fault('placement', placeOf(matrix), { what: matrix.name }));
    if (wrong) faults.push(wrong);
    return wrong ? null : placement;
  }

  /** What the names of a list stand for, each standing once. */
  function membersOf(list: VdaStatement, parameters: VdaParameters): Set<Standing> {
    const members = new Set<Standing>();
    for (let count = parameters.count('elements', 1); count > 0; count--) {
      const name = parameters.name();
      if (parameters.fault) break;
      const element = elements.find(name, list);
      if (!element)
        faults.push(fault('vda-reference', placeOf(list), { what: 'element', to: name }));
      const found = element ? standingsOf(element) : [];
      left -= found.length;
      if (left < 0) break;
      for (const member of found) members.add(member);
    }
    return members;
  }

  function read(list: VdaStatement): readonly Standing[] {
    const parameters = new VdaParameters(file, list);
    const matrix = list.command === 'TLIST' ? matrixOf(list, parameters.name()) : inPlace;
    const members = membersOf(list, parameters);
    if (left >= 0) parameters.end();
    if (parameters.fault) faults.push(parameters.fault);
    if (left < 0) {
      // told once: whatever comes after finds nothing left
      if (!isSpent)
        faults.push(
          fault('too-deep', placeOf(list), { what: 'members of lists', most: mostMembers }),
        );
      isSpent = true;
      return [];
    }
    if (!matrix) return [];
    const own: Standing[] =
      list.command === 'GROUP'
        ? [...members]
        : Array.from(members, ({ panel, placement }) => ({
            panel,
            placement: placement === inPlace ? matrix : composed(matrix, placement),
            list,
            groups: new Set(list.sets),
          }));
    for (const standing of own) {
      if (standing.list === list) copies.push(standing);
      standing.groups.add(list.name);
    }
    return own;
  }

  function standingsOf(element: VdaStatement): readonly Standing[] {
    if (element.command !== 'GROUP' && element.command !== 'TLIST')
      return panelsOf(element).map((panel) => alone[panel]);
    const before = known.get(element);
    if (before) return before;
    if (open.has(element) || open.size >= deepest) {
      faults.push(fault('too-deep', placeOf(element), { what: 'lists', most: deepest }));
      return [];
    }
    open.add(element);
    const found = read(element);
    open.delete(element);
    known.set(element, found);
    return found;
  }

  for (const command of ['GROUP', 'TLIST'] as const)
    for (const list of elements.of(command)) standingsOf(list);
  return { standings: [...alone, ...copies], faults };
}
