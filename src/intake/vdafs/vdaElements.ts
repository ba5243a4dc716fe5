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

const keyOf = (set: string, name: string): string => `${set}\n${name}`.toUpperCase();

export function vdaElements(statements: readonly VdaStatement[]): VdaElements {
  const bySet = new Map<string, VdaStatement>();
  const byName = new Map<string, VdaStatement>();
  const byCommand = new Map<VdaCommand, VdaStatement[]>();
  const faults: Fault[] = [];
  for (const statement of statements) {
    const { name, command, sets } = statement;
    const key = keyOf(sets[sets.length - 1] ?? outside, name);
    const first = bySet.get(key);
    if (first) {
      faults.push(fault('vda-duplicate', placeOf(statement), { firstLine: first.line }));
      continue;
    }
    bySet.set(key, statement);
    const plain = name.toUpperCase();
    if (!byName.has(plain)) byName.set(plain, statement);
    const kind = byCommand.get(command);
    if (kind) kind.push(statement);
    else byCommand.set(command, [statement]);
  }
  return {
    of: (command) => byCommand.get(command) ?? [],
    find: (name, { sets }) => {
      for (const set of [outside, ...sets].toReversed()) {
        const own = bySet.get(keyOf(set, name));
        if (own) return own;
      }
      return byName.get(name.toUpperCase()) ?? null;
    },
    faults,
  };
}
