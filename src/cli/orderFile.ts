import { existsSync, readFileSync, statSync } from 'node:fs';
import { dirname, isAbsolute, join } from 'node:path';
import type { RuleData } from '../rules/rule.ts';
import { isSpecFault, ownRuleOf, specOf, type Spec, type SpecFault } from '../rules/spec.ts';
import { specFaultSentence } from '../writers/specFaultSentences.ts';
import { isThere } from './isThere.ts';
import { hasGlob } from './listedFiles.ts';
import { UsageFault } from './usageFault.ts';

/** The name of a job's own limits. */
const specName = 'hullsight.json';

/** A spec with the rules it brings, the file it came from, and all files that were read for it. */
export interface OrderFile {
  readonly spec: Spec;
  readonly ownRules: readonly RuleData[];
  readonly path: string | null;
  readonly read: readonly string[];
}

/** hullsight.json in the folder that is audited, or beside the first file; null where there is none. */
function specBeside(paths: readonly string[]): string | null {
  const first = paths[0];
  if (first === undefined) return null;
  const given = existsSync(first) && statSync(first).isDirectory() ? first : dirname(first);
  // Of a pattern, the folder that is named in full.
  const parts = given.split(/[\\/]/);
  const pattern = isThere(given) ? -1 : parts.findIndex(hasGlob);
  const folder = pattern < 0 ? given : parts.slice(0, pattern).join('/') || '.';
  const path = join(folder, specName);
  return isThere(path) ? path : null;
}

function text(path: string): string {
  try {
    // A pipe would keep the run waiting for ever.
    if (statSync(path).isFile()) return readFileSync(path, 'utf8').replace(/^\ufeff/, '');
  } catch (error) {
    throw new UsageFault(
      `${path} cannot be read (${(error as NodeJS.ErrnoException).code}). Give the path of a spec that exists.`,
    );
  }
  throw new UsageFault(`${path} is not a file. Give the path of a spec.`);
}

function sound<T extends Spec | RuleData>(path: string, result: T | SpecFault): T {
  if (isSpecFault(result)) throw new UsageFault(`${path}: ${specFaultSentence(result)}`);
  return result;
}

/** The spec named, else the one that lies with the files, else none. */
export function orderFile(named: string | undefined, paths: readonly string[]): OrderFile {
  const path = named ?? specBeside(paths);
  if (path === null) return { spec: {}, ownRules: [], path: null, read: [] };
  const spec = sound(path, specOf(text(path)));
  // files of a spec lie beside it
  const beside = (files: readonly string[]): string[] =>
    files.map((file) => (isAbsolute(file) ? file : join(dirname(path), file)));
  const ruleFiles = beside(spec.ownRules ?? []);
  const ownRules = ruleFiles.map((file) => sound(file, ownRuleOf(text(file))));
  ownRules.forEach(({ id }, k) => {
    if (ownRules.findIndex((other) => other.id === id) < k)
      throw new UsageFault(`${ruleFiles[k]}: another rule of the job has the id "${id}" already.`);
  });
  return {
    spec: {
      ...spec,
      ...(spec.scan ? { scan: beside(spec.scan) } : {}),
      ...(spec.panels
        ? {
            panels: spec.panels.map((group) =>
              group.scan ? { ...group, scan: beside(group.scan) } : group,
            ),
          }
        : {}),
    },
    ownRules,
    path,
    read: [path, ...ruleFiles],
  };
}
