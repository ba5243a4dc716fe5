import { learnedChecksum } from '../measure/locator/learnedSpectra.ts';
import { auditedJob } from '../audit.ts';
import { briefOf, scanLists, stageOf, switchedOff, unfittedNames } from '../rules/brief.ts';
import type { Order } from '../rules/brief.ts';
import { ruleData } from '../rules/catalogue.ts';
import { nearestName } from '../intake/nearestName.ts';
import { nearestRule, type Severity, type Spec } from '../rules/spec.ts';
import { exitStatus, verdictOf } from '../verdict/verdict.ts';
import { jsonVerdict } from '../writers/jsonVerdict.ts';
import { textVerdict, type Layout } from '../writers/textVerdict.ts';
import { jobScans, refuseNoScan } from './jobScans.ts';
import { judgedFiles, jobCount, mostBytes } from './judgedFiles.ts';
import { listedFiles } from './listedFiles.ts';
import { orderFile } from './orderFile.ts';
import { progress } from './progress.ts';
import { UsageFault } from './usageFault.ts';
import { keepApart, writtenFile } from './writtenFile.ts';

export interface AuditArguments {
  readonly paths: readonly string[];
  readonly format: 'text' | 'json' | undefined;
  readonly output: string | undefined;
  readonly spec: string | undefined;
  readonly blockAt: Severity | undefined;
  readonly only: string | undefined;
  readonly jobs: number | undefined;
  readonly profiles: boolean | undefined;
  readonly scan: readonly string[];
  readonly stage: string | undefined;
  /** Whether a large scan that was made ready may be kept beside it, and what is kept used. */
  readonly cache: boolean;
}

/** What the command needs to know of the process it runs in. */
export interface Surroundings {
  readonly tool: string;
  readonly now: Date;
  readonly workerPath: string;
  readonly out: NodeJS.WriteStream;
  readonly err: NodeJS.WriteStream;
  readonly environment: Readonly<Record<string, string | undefined>>;
}

const narrowest = 40;
const widest = 100;

/** NO_COLOR (no-color.org) and a dumb terminal switch bold and dim off, as does a pipe. */
export const layoutOf = ({
  out,
  environment,
}: Pick<Surroundings, 'out' | 'environment'>): Layout => ({
  width: Math.min(widest, Math.max(narrowest, out.isTTY ? (out.columns ?? 80) : 80)),
  styled: out.isTTY && !environment['NO_COLOR'] && environment['TERM'] !== 'dumb',
});

/** The form that the name of the file to write asks for. */
const formatOf = (output: string | undefined): 'text' | 'json' =>
  output?.endsWith('.json') ? 'json' : 'text';

/** What is wrong with --stage. */
function unknownStage(name: string, { stages = [] }: Spec, path: string | null): string {
  if (stages.length === 0)
    return `--stage ${name}: ${path === null ? 'there is no spec' : `the spec (${path}) has no stages`}. Name them there: "stages": [{ "name": ..., "scanTolerance": { "limit": ... } }].`;
  const names = stages.map((stage) => stage.name);
  const nearest = nearestName(name, names);
  return `--stage ${name}: the spec (${path}) has no such stage.${nearest === null ? '' : ` Did you mean ${nearest}?`} It has ${names.join(', ')}.`;
}

/** Audits the files named, prints and writes the verdict, and gives the exit status. */
export async function auditCommand(
  asked: AuditArguments,
  surroundings: Surroundings,
): Promise<number> {
  const { spec, ownRules, path: specPath, read } = orderFile(asked.spec, asked.paths);
  const ids = [...ruleData.map(({ id }) => id), ...ownRules.map(({ id }) => id)];
  if (asked.only !== undefined && !ids.includes(asked.only)) {
    const nearest = nearestRule(asked.only);
    throw new UsageFault(
      `--only ${asked.only}: there is no such rule.${nearest ? ` Did you mean ${nearest}?` : ''} "hullsight explain" lists them all.`,
    );
  }
  if (asked.only !== undefined && spec.rules?.[asked.only]?.off)
    throw new UsageFault(
      `--only ${asked.only}: the spec (${specPath}) switches that rule off. Take it out of the spec, or name another.`,
    );
  if (asked.jobs !== undefined && !(Number.isInteger(asked.jobs) && asked.jobs >= 1))
    throw new UsageFault('--jobs takes a whole number of workers, 1 or more.');
  if (asked.stage !== undefined && stageOf(spec, asked.stage) === null)
    throw new UsageFault(unknownStage(asked.stage, spec, specPath));
  const profiles = asked.profiles ?? false;
  if (profiles && (asked.format ?? formatOf(asked.output)) !== 'json')
    throw new UsageFault(
      '--profiles goes with --format json (or --output FILE.json): a text verdict does not hold them. Add that, or leave --profiles out.',
    );
  const files = await listedFiles(asked.paths);
  const order: Order = {
    spec,
    ownRules,
    only: asked.only ?? null,
    profiles,
    scan: asked.scan,
    stage: asked.stage ?? null,
  };
  const stage = stageOf(spec, asked.stage);
  const lists = scanLists(order);
  refuseNoScan(asked.scan, '--scan');
  refuseNoScan(lists.flat(), `the spec (${specPath}) names as scan`);
  if (asked.output !== undefined)
    keepApart(asked.output, [...files.map(({ path }) => path), ...read, ...lists.flat()]);
  const brief = briefOf(order);
  const scans = await jobScans(lists, files, {
    brief,
    most: mostBytes(1),
    keptBy: asked.cache ? surroundings.tool : null,
    stream: surroundings.err,
  });
  const { others } = scans;
  const line = await progress(others.length, lists.length > 0, surroundings.err);
  const judged = await judgedFiles(
    others,
    order,
    scans.bodies,
    jobCount(asked.jobs, others.length, scans.bodies.size > 0),
    surroundings.workerPath,
    line.step,
  );
  line.end();
  const { files: told, ...together } = auditedJob([...judged, ...scans.judged], brief);
  const header = {
    tool: surroundings.tool,
    at: surroundings.now.toISOString(),
    spec: specPath,
    switchedOff: switchedOff(spec),
    // one rule by itself releases nothing
    stage: stage && {
      name: stage.name,
      isRelease: (stage.release ?? false) && asked.only === undefined,
    },
    learned: learnedChecksum(),
    unfitted: unfittedNames(
      spec,
      judged.flatMap(({ panels }) => panels.map(({ name }) => name)),
    ),
  };
  const bar = asked.blockAt ?? spec.blockAt ?? 'moderate';
  const verdict = verdictOf(told, bar, header, together);
  const inForm = (format: 'text' | 'json', layout: Layout): string =>
    format === 'json' ? jsonVerdict(verdict, ownRules) : textVerdict(verdict, ownRules, layout);
  const layout = layoutOf(surroundings);
  if (asked.output === undefined) surroundings.out.write(inForm(asked.format ?? 'text', layout));
  else {
    const format = asked.format ?? formatOf(asked.output);
    writtenFile(asked.output, inForm(format, { width: 80, styled: false }));
    surroundings.out.write(textVerdict(verdict, ownRules, layout));
  }
  return exitStatus(verdict);
}
