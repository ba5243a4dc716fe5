/** What other programs may import: read a file, judge it, make a verdict, put it into words. */
export { auditedFile, type Source } from './audit.ts';
export type { ControlNet, Spot } from './geometry/controlNet.ts';
export type { Fault, Notice, Place } from './intake/fault.ts';
export type { Intake, Panel } from './intake/panel.ts';
export { readSurfaces } from './intake/readSurfaces.ts';
export { briefOf, type Brief, type Order } from './rules/brief.ts';
export { catalogue } from './rules/catalogue.ts';
export type { Judgement, Miss, Rule, RuleData, Site, SurfaceClass } from './rules/rule.ts';
export { ownRuleOf, specOf, type Severity, type Spec, type SpecFault } from './rules/spec.ts';
export type { Finding } from './verdict/finding.ts';
export type { JudgedFile, JudgedPanel } from './verdict/judgedFile.ts';
export { verdictShape } from './verdict/verdict.generated.js';
export { exitStatus, verdictOf, type RunHeader, type Verdict } from './verdict/verdict.ts';
export { jsonVerdict } from './writers/jsonVerdict.ts';
export { textVerdict, type Layout } from './writers/textVerdict.ts';
