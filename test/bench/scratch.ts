import { wideFamilies } from '../../fixtures/panelFamilies.ts';
import { referenceTables } from '../../fixtures/locator/goldenPanels.ts';
import { MixtureScorer } from '../../src/measure/locator/mixtureScorer.ts';
import { netFaults, type NetFault } from '../../src/measure/locator/netFaults.ts';
import { hands, panelCase, type Question, type PanelCase } from './locator/panelCase.ts';
import { publishedFamilies } from './locator/publishedFamilies.ts';
import { writeFileSync } from 'node:fs';

const arg = (k: string, d: string) => process.argv.find((a) => a.startsWith(`--${k}=`))?.slice(k.length + 3) ?? d;
const per = Number(arg('per', '2'));
const seed = Number(arg('seed', '7000'));
const qs: Question[] = arg('q', '0,1,3,line').split(',').map((q) => (q === 'line' ? 'line' : (Number(q) as Question)));
const tables = referenceTables();
const scorer = new MixtureScorer(tables);
const only = arg('family', '');
const families = [...wideFamilies, ...publishedFamilies()].filter((f) => only === '' || only.split(',').includes(f.name));
const temper = (lo: number, shift: number) => 1 / (1 + Math.exp(-0.45 * (lo - shift)));
export interface Row { family: string; hand: number; q: Question; n: number; clear: boolean; faults: any[]; ms: number; slips: any[]; line: any; size: string; kind: string; pub: boolean }
const rows: Row[] = [];
const conf = (f: NetFault) => Math.min(temper(f.logOdds, 1.5), f.setSize > 1 ? temper(f.setGain, 10.5) : 1);
const lim = { point: 0.88, drift: 0.93, line: 0.99 };
for (const family of families)
  for (const hand of hands)
    for (const q of qs)
      for (let k = 0; k < per; k++) {
        const c = panelCase(family, hand, q, seed + k * 13 + hands.indexOf(hand) * 1009 + (q === 'line' ? 7 : q) * 9176 + families.indexOf(family) * 131071);
        if (!c || c.pointCount > 200) continue;
        const t = performance.now();
        const { faults, hand: h } = netFaults(c.net, scorer, tables, null, false);
        const ms = performance.now() - t;
        rows.push({ family: family.name, hand, q, n: c.pointCount, clear: c.slips.length > 0 && c.slips.every((s) => s.clear), ms, slips: c.slips, line: c.line, size: `${c.net.columns}x${c.net.rows}`, kind: c.kind, pub: c.kind === 'published',
          faults: faults.map((f) => ({ place: f.place, part: f.part, c: conf(f), lo: f.logOdds, gain: f.gain, setGain: f.setGain, setSize: f.setSize, d: Math.hypot(...f.displacement), disp: f.displacement, sd: f.deviation, hand: h, rivals: f.rivals.slice(0, 3), 
            named: conf(f) > lim[f.part] && Math.hypot(...f.displacement) > 4 * f.deviation && Math.hypot(...f.displacement) > 4 * h && !(f.setSize > 1 && c.pointCount < 25) })) });
      }
writeFileSync(arg('to', '/tmp/rows.json'), JSON.stringify(rows));
const pct = (a: number, b: number) => `${b ? ((100 * a) / b).toFixed(1) : '-'} (${b})`;
const isAt = (f: any, s: any) => f.place.kind === 'point' && f.place.row === s.spot.row && f.place.column === s.spot.column;
const rep = (name: string, set: Row[], seenMin = 0.1) => {
  if (set.length === 0) return;
  let found = 0, total = 0, right = 0, named = 0, wrongPanels = 0, first = 0, near = 0, top = 0, mag = 0;
  for (const r of set) {
    const nm = r.faults.filter((f) => f.named && f.place.kind === 'point');
    named += nm.length;
    const ok = nm.filter((f) => r.slips.some((s) => isAt(f, s)));
    right += ok.length;
    if (nm.length > ok.length || r.faults.some((f) => f.named && f.place.kind !== 'point')) wrongPanels++;
    total += r.slips.length;
    for (const s of r.slips) { const f = nm.find((f) => isAt(f, s)); if (f) { found++; const e = Math.hypot(f.disp[0]-s.moved[0], f.disp[1]-s.moved[1], f.disp[2]-s.moved[2]) / Math.hypot(...(s.moved as [number, number, number])); if (e < 0.2) mag++; }
      if (r.faults.some((f) => isAt(f, s))) top++; }
  }
  console.log(`${name}: n=${set.length} found ${pct(found, total)} [in set ${pct(top, total)}] precision ${pct(right, named)} wrong panels ${pct(wrongPanels, set.length)} near ${pct(mag, found)}`);
};
const one = rows.filter((r) => r.q === 1);
const made = (r: Row) => !r.pub;
console.log('clean alarms made', pct(rows.filter((r) => r.q === 0 && made(r) && r.hand <= 0.05 && r.faults.some((f) => f.named)).length, rows.filter((r) => r.q === 0 && made(r) && r.hand <= 0.05).length), 'pub', pct(rows.filter((r) => r.q === 0 && !made(r) && r.hand <= 0.05 && r.faults.some((f) => f.named)).length, rows.filter((r) => r.q === 0 && !made(r) && r.hand <= 0.05).length), 'hand .2', pct(rows.filter((r) => r.q === 0 && made(r) && r.hand > 0.05 && r.faults.some((f) => f.named)).length, rows.filter((r) => r.q === 0 && made(r) && r.hand > 0.05).length));
rep('one clear >=25', one.filter((r) => r.clear && r.n >= 25));
rep('one clear 16-20', one.filter((r) => r.clear && r.n <= 20));
for (const w of ['normal', 'row', 'column', 'oblique']) rep('  way ' + w, one.filter((r) => r.clear && r.n >= 25 && r.slips[0].way === w));
for (const w of ['interior', 'next-to-edge', 'edge', 'corner']) rep('  place ' + w, one.filter((r) => r.clear && r.n >= 25 && r.slips[0].place === w));
rep('one not clear', one.filter((r) => !r.clear));
rep('two clear 16-20', rows.filter((r) => r.q === 2 && r.clear && r.n <= 20));
rep('three clear >=36', rows.filter((r) => r.q === 3 && r.clear && r.n >= 36));
rep('drift >=5', one.filter((r) => r.n >= 25 && ['row', 'column'].includes(r.slips[0].way) && r.slips[0].by >= 5));
const lines = rows.filter((r) => r.q === 'line');
const lineOk = (r: Row) => r.faults.some((f) => f.named && f.place.kind === r.line.along && f.place[r.line.along] === r.line.index);
const lineBad = (r: Row) => r.faults.some((f) => f.named && f.place.kind !== 'point' && !(f.place.kind === r.line.along && f.place[r.line.along] === r.line.index));
const blamed = (r: Row) => r.faults.some((f) => f.named && f.place.kind === 'point' && f.place[r.line.along] === r.line.index);
const multi = lines.filter((r) => r.line.by >= 2 && r.line.spans > 1 && r.line.count >= 7);
const single = lines.filter((r) => r.line.by >= 2 && r.line.spans === 1 && r.line.count <= 7);
console.log('lines multi', pct(multi.filter(lineOk).length, multi.length), 'single', pct(single.filter(lineOk).length, single.length), 'wrong', pct(lines.filter(lineBad).length, lines.length), 'blamed', pct(lines.filter(blamed).length, lines.length));
for (const size of ['4x4', '5x4', '6x6', '7x6', '8x8', '11x7', '15x10']) {
  for (const q of qs) {
    const t = rows.filter((r) => (r.size === size || r.size === size.split('x').reverse().join('x')) && r.q === q).map((r) => r.ms).sort((a, b) => a - b);
    if (t.length) console.log(size, q, 'n', t.length, 'median ms', t[t.length >> 1].toFixed(1), 'max', t[t.length - 1].toFixed(1));
  }
}
console.log('total s', (rows.reduce((a, r) => a + r.ms, 0) / 1000).toFixed(1), rows.length);
