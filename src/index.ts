/** What other programs may import: read a file, judge it, make a verdict, put it into words. */
export { auditedFile, auditedJob, auditedScan, readyScan, type Source } from './audit.ts';
export type { ControlNet, Spot } from './geometry/controlNet.ts';
export type { Mesh } from './geometry/mesh.ts';
export type { ScanBody } from './geometry/scanBody.ts';
export { bufferSource, type ByteSource } from './intake/byteSource.ts';
export type { Fault, Notice, Place } from './intake/fault.ts';
export type { Intake, Panel } from './intake/panel.ts';
export { readScan, type ScanOptions } from './intake/readScan.ts';
export { readSurfaces } from './intake/readSurfaces.ts';
export type { ScanCounts, ScanIntake } from './intake/scan/scanIntake.ts';
export { briefOf, scanKey, scanLists, stageOf, type Brief, type Order } from './rules/brief.ts';
export { catalogue } from './rules/catalogue.ts';
export type { Judgement, Miss, Rule, RuleData, Site, SurfaceClass } from './rules/rule.ts';
export { ownRuleOf, specOf, type Severity, type Spec, type SpecFault } from './rules/spec.ts';
export type { Finding } from './verdict/finding.ts';
export type { JudgedSeam, JudgedSeams, OpenBorder } from './verdict/judgedSeams.ts';
export type { Decision } from './verdict/decisions.ts';
export type {
  JudgedDistances,
  JudgedFile,
  JudgedPanel,
  JudgedScan,
  ScanBodies,
} from './verdict/judgedFile.ts';
export { verdictShape } from './verdict/verdict.generated.js';
export { exitStatus, verdictOf, type RunHeader, type Verdict } from './verdict/verdict.ts';
export { jsonVerdict } from './writers/jsonVerdict.ts';
export { textVerdict, type Layout } from './writers/textVerdict.ts';
export { convertedFile } from './convert.ts';
export { conversionText, type Conversion } from './writers/conversionText.ts';
export { changedFile, type WrittenFormat } from './writers/surfaces/changedFile.ts';
export type { ChangedFile, NetChange, Refusal } from './writers/surfaces/netChange.ts';
export { lightenedFile, type LightenOrder } from './lighten.ts';
export { lightenedText, type Lightened } from './writers/lightenedText.ts';
