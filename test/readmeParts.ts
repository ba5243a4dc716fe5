import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { auditedFile, auditedJob, auditedScan, readyScan } from '../src/audit.ts';
import { briefOf, scanKey, stageOf } from '../src/rules/brief.ts';
import { ruleData } from '../src/rules/catalogue.ts';
import { specOf, type Spec } from '../src/rules/spec.ts';
import { verdictOf } from '../src/verdict/verdict.ts';
import { shownLimit } from '../src/writers/shown.ts';
import { textVerdict } from '../src/writers/textVerdict.ts';

export const root = resolve(import.meta.dirname, '..');
const job = join(root, 'fixtures/demo/job');

/** Panels of the demo that stand in the README; of the others three dots. */
const shownPanels = ['hood', 'flank-left'];

/** Paragraphs of a verdict without those of the panels that are not to be shown. */
function shortened(text: string, panels: readonly string[]): string {
  const left = panels.filter((name) => !shownPanels.includes(name));
  const paragraphs = text
    .trimEnd()
    .split('\n\n')
    .map((paragraph) =>
      left.some((name) => paragraph.startsWith(`${name} in `)) ? '...' : paragraph,
    );
  return paragraphs.filter((own, k) => own !== '...' || paragraphs[k - 1] !== '...').join('\n\n');
}

/** What the demo prints, as it stands in the README: most of it. */
function picture(): string {
  const spec = specOf(readFileSync(join(job, 'hullsight.json'), 'utf8')) as Spec;
  const brief = briefOf({ spec, ownRules: [], only: null });
  const source = (name: string) => ({ name, bytes: readFileSync(join(job, name)) });
  const { judged, mesh } = auditedScan(source('clay.ply'), brief);
  const scans = new Map([[scanKey(spec.scan!), readyScan([mesh!])]]);
  const files = ['back.net.json', 'flanks.stp', 'front.igs'].map((name) =>
    auditedFile(source(name), brief, scans),
  );
  const { files: told, ...together } = auditedJob([...files, judged], brief);
  const stage = stageOf(spec)!;
  const run = {
    tool: '',
    at: '',
    spec: 'fixtures/demo/job/hullsight.json',
    switchedOff: [],
    unfitted: [],
    stage: { name: stage.name, isRelease: stage.release ?? false },
    learned: '0'.repeat(64),
  };
  const verdict = verdictOf(told, 'moderate', run, together);
  const text = textVerdict(verdict, [], { width: 80, styled: false });
  const names = files.flatMap(({ panels }) => panels.map(({ name }) => name));
  return ['```text', '$ hullsight audit fixtures/demo/job', shortened(text, names), '```'].join(
    '\n',
  );
}

/** Every rule's limits and where they come from, as a table. */
function limits(): string {
  const rows = ruleData.map((data) => {
    const bound = data.sense === 'at-most' ? 'at most' : 'at least';
    const values = (['A', 'B', 'C'] as const).map((c) =>
      shownLimit(data.limits[c].value, data.unit),
    );
    const sources = [...new Set(Object.values(data.limits).map(({ source }) => source))];
    return `| \`${data.id}\` | ${data.title} | ${bound} ${values.join(' / ')} | ${sources.join('; ')} |`;
  });
  return [
    '| rule | what it finds | limit A / B / C | source |',
    '| --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}

/** A share in reports/locator.json: hits, count, share, its 95 % interval, the family if it is one's. */
type StoredShare = readonly [number, number, number | null, number | null, number | null, string?];

interface StoredFigure {
  readonly figure: {
    readonly text: string;
    readonly aim: { readonly sense: string; readonly value: number } | null;
  };
  readonly all: { readonly present: StoredShare };
  readonly setAside: StoredShare;
  readonly made: { readonly present: StoredShare };
}

const percent = ([, count, share]: StoredShare): string =>
  share === null ? '-' : `${(100 * share).toFixed(1)} % of ${count}`;

/** What the locator's benchmark measured, as a table. */
function measured(): string {
  const report = JSON.parse(readFileSync(join(root, 'reports/locator.json'), 'utf8')) as {
    readonly measured: readonly StoredFigure[];
  };
  const rows = report.measured.map(({ figure, all, setAside, made }) => {
    const { aim } = figure;
    const wanted = aim
      ? `${aim.sense === 'at-least' ? 'at least' : 'at most'} ${100 * aim.value} %`
      : 'reported';
    return `| ${figure.text} | ${wanted} | ${[made.present, all.present, setAside].map(percent).join(' | ')} |`;
  });
  return [
    '| measured | aim | made panels | with published nets | their own oddities set aside |',
    '| --- | --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}

/** The parts of the README that the program makes, by the name of their marks. */
export const readmeParts = (): Readonly<Record<string, string>> => ({
  picture: picture(),
  limits: limits(),
  measured: measured(),
});

/** The text with each part put between its marks. */
export const withParts = (readme: string): string =>
  Object.entries(readmeParts()).reduce(
    (text, [name, part]) =>
      text.replace(
        new RegExp(`<!-- ${name} -->[\\s\\S]*?<!-- /${name} -->`),
        () => `<!-- ${name} -->\n\n${part}\n\n<!-- /${name} -->`,
      ),
    readme,
  );
