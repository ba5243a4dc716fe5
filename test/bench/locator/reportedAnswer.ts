import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { millimetre } from '../../../src/intake/lengthUnit.ts';
import { briefOf } from '../../../src/rules/brief.ts';
import type { Finding } from '../../../src/verdict/finding.ts';
import { judgedFile } from '../../../src/verdict/judgedFile.ts';
import type { Answer } from './answer.ts';

/** The rules that name control points or lines as off the run of the net. */
const about = ['point-jut', 'point-drift', 'hull-jut'];
const whole = briefOf({ spec: {}, ownRules: [], only: null });
const brief = { ...whole, rules: whole.rules.filter(({ data }) => about.includes(data.id)) };
/** What only sways below every named point: the order among uncertain ones still counts. */
const uncertainBy = 1000;

/** ln odds that it is so: from 0 on it is named. */
function strength({ certainty, miss }: Finding): number {
  const confidence = Math.min(1 - 1e-12, miss.confidence ?? 0.5);
  const odds = Math.log(confidence / (1 - confidence));
  return certainty === 'named' ? Math.max(0, odds) : odds - uncertainBy;
}

const runOf = ({ from, to }: { readonly from?: number; readonly to?: number }) =>
  from === undefined || to === undefined ? {} : ({ run: [from, to] } as const);

/** The audit's findings on a net of a class A panel, as the verdict has them. */
export function auditFindings(net: ControlNet): readonly Finding[] {
  const panel = {
    name: 'panel',
    place: {},
    unit: millimetre,
    net,
    trim: { kind: 'whole' },
  } as const;
  const intake = {
    format: 'net-json',
    unit: millimetre,
    panels: [panel],
    unjudged: [],
    faults: [],
    notices: [],
  } as const;
  return judgedFile('panel.net.json', null, intake, brief).panels[0].findings;
}

/** The tool as a user sees it: rules at class A, nudges measured again. */
export function reportedAnswer(net: ControlNet): Answer {
  const start = performance.now();
  const findings = [...auditFindings(net)].sort((a, b) => strength(b) - strength(a));
  const points = findings.flatMap((finding) => {
    const { site, displacement } = finding.miss;
    const spot = site.kind === 'point' ? site : site.kind === 'points' ? site.points[0] : null;
    return spot && displacement ? [{ finding, spot, displacement }] : [];
  });
  const sure = findings.filter(({ certainty }) => certainty === 'named');
  const [first] = points;
  return {
    top: first
      ? { spot: first.spot, displacement: first.displacement, strength: strength(first.finding) }
      : null,
    named: points.filter(
      ({ finding }) => finding.certainty === 'named' && finding.miss.site.kind === 'point',
    ),
    lines: sure.flatMap(({ miss: { site } }): Answer['lines'][number][] =>
      site.kind === 'row'
        ? [{ along: 'row', index: site.row, ...runOf(site) }]
        : site.kind === 'column'
          ? [{ along: 'column', index: site.column, ...runOf(site) }]
          : [],
    ),
    told: findings.flatMap(({ miss: { site, confidence } }) =>
      confidence === undefined ? [] : [{ site, confidence }],
    ),
    graver: findings.some(({ severity }) => severity !== 'slight'),
    milliseconds: performance.now() - start,
  };
}
