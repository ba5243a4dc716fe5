import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ruleData } from '../rules/catalogue.ts';
import { nearestRule } from '../rules/spec.ts';
import { ruleList, rulePage } from '../writers/rulePage.ts';
import { UsageFault } from './usageFault.ts';

/** The folder of rule pages: beside the bundle's folder, or two up from this source file. */
const rulesFolder = (here: string): string =>
  [join(here, '../rules'), join(here, '../../rules')].find((folder) =>
    existsSync(join(folder, 'point-jut.md')),
  ) ?? join(here, '../rules');

/** The list of rules, or the page of one. */
export function explanation(id: string | undefined, here: string, width: number): string {
  if (id === undefined) return ruleList(ruleData);
  const rule = ruleData.find((data) => data.id === id);
  if (!rule) {
    const nearest = nearestRule(id);
    throw new UsageFault(
      `There is no rule "${id}".${nearest ? ` Did you mean ${nearest}?` : ''} "hullsight explain" lists them all.`,
    );
  }
  return rulePage(rule, readFileSync(join(rulesFolder(here), `${id}.md`), 'utf8'), width);
}
