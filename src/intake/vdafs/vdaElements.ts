import { fault, type Fault } from '../fault.ts';
import { placeOf, type VdaCommand, type VdaStatement } from './vdaStatements.ts';

/** The statements of a file by name. Names are told apart without regard to case. */
export interface VdaElements {
  /** Those of one kind in the order of the file, each name of a set once. */
  readonly of: (command: VdaCommand) => readonly VdaStatement[];
  /**
   * What a name means where `from` stands: the element of the innermost set that has one, else the one
   * outside of all sets, else the first in the file. It may stand before or behind `from`.
   */
  readonly find: (name: string, from: VdaStatement) => VdaStatement | null;
  /** Names that stand twice in one set; the first is kept. */
  readonly faults: readonly Fault[];
}

const outside = '';

/** Names in capitals, and what they mean. */
type Names = Map<string, VdaStatement>;

export function vdaElements(statements: readonly VdaStatement[]): VdaElements {
  const bySet = new Map<string, Names>();
  /** The first in the file, of names that stand in sets. */
  const inSets: Names = new Map();
  const byCommand = new Map<VdaCommand, VdaStatement[]>();
  const faults: Fault[] = [];
  const namesIn = (set: string): Names => {
    const key = set.toUpperCase();
    const found = bySet.get(key) ?? new Map<string, VdaStatement>();
    bySet.set(key, found);
    return found;
  };
  for (const statement of statements) {
    const { command, sets } = statement;
    const name = statement.name.toUpperCase();
    const own = namesIn(sets[sets.length - 1] ?? outside);
    const first = own.get(name);
    if (first) {
      faults.push(fault('vda-duplicate', placeOf(statement), { firstLine: first.line }));
      continue;
    }
    own.set(name, statement);
    if (sets.length > 0 && !inSets.has(name)) inSets.set(name, statement);
    const kind = byCommand.get(command);
    if (kind) kind.push(statement);
    else byCommand.set(command, [statement]);
  }
  return {
    of: (command) => byCommand.get(command) ?? [],
    find: (given, { sets }) => {
      const name = given.toUpperCase();
      for (const set of [outside, ...sets].toReversed()) {
        const found = bySet.get(set.toUpperCase())?.get(name);
        if (found) return found;
      }
      return inSets.get(name) ?? null;
    },
    faults,
  };
}
