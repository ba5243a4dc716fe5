import { jsonErrorText } from './jsonErrorText.ts';
import type { SpecFault } from '../rules/spec.ts';

const suggestion = (nearest: string | undefined): string =>
  nearest ? ` Did you mean "${nearest}"?` : '';

const sentences: Readonly<
  Record<SpecFault['code'], (data: SpecFault['data'], where: string) => string>
> = {
  'json-syntax': ({ what }, where) =>
    `${where ? `${where}: ` : ''}the text is not JSON: ${jsonErrorText(what)}. Mend it there.`,
  shape: ({ what }, where) => `${where || 'the whole'} is not as it should be: ${what}.`,
  'unknown-key': ({ key, nearest }, where) =>
    `${where || 'the top level'} has a key "${key}" that nothing reads.${suggestion(nearest)}`,
  'unknown-rule': ({ rule, nearest }) =>
    `there is no rule "${rule}".${suggestion(nearest)} "hullsight explain" lists them all.`,
  'unknown-measure': ({ measure, nearest }) =>
    `there is no measure "${measure}".${suggestion(nearest)}`,
  'rule-id-taken': ({ rule }) =>
    `the id "${rule}" belongs to a built-in rule. Give your rule another, or set limits under "rules" in the spec.`,
};

/** What is wrong with a spec or a job's own rule, and what to do. */
export const specFaultSentence = (fault: SpecFault): string =>
  sentences[fault.code](fault.data, fault.where);
