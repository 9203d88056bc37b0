import { averagingStrategy } from '../../core/averaging/index.ts';
import type { Comparison } from '../comparisons.ts';
import { breakdownCurves, type CurveSet, parameterCurves } from '../curves.ts';
import type { Gathered } from '../gathered.ts';
import type { StudyPlan } from '../plan.ts';
import { scenarioKey } from '../scenarioKey.ts';
import { sensitivities } from '../sensitivity.ts';
import type { StudySummary } from '../summary.ts';
import { curveFigure } from './curveFigure.ts';
import { intervalFigure } from './intervalFigure.ts';
import { methodsSentences } from './methods.ts';
import { numberText } from './scale.ts';
import { escaped } from './svg.ts';
import { tradeOffFigure } from './tradeOffFigure.ts';

const MOST_ROWS = 40;

const STYLE = `
:root{color-scheme:light}
body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#1b1b1b;background:#fff}
h1{font-size:1.6rem;margin-bottom:.2rem}h2{font-size:1.2rem;margin-top:2.2rem}
table{border-collapse:collapse;font-size:.85rem;font-variant-numeric:tabular-nums;margin:.8rem 0}
th,td{padding:.25rem .6rem;border-bottom:1px solid #ddd;text-align:right}th{vertical-align:bottom}
th:first-child,td:first-child,td.word{text-align:left}caption{text-align:left;padding:.3rem 0;color:#444}
figure{margin:1.2rem 0}figcaption{font-size:.9rem;color:#444}svg{max-width:100%;height:auto}svg text{font:12px system-ui,sans-serif;fill:#1b1b1b}
.warning{border-left:.4rem solid #b35900;background:#fff4e5;padding:.6rem 1rem}.answer{border-left:.4rem solid #0072b2;background:#eef6fb;padding:.6rem 1rem}
.note{color:#444;font-size:.9rem}code{font-size:.9em}
.scroll{overflow-x:auto}`;

/**
 * Writes the report of a study as one self-contained HTML page: no script, nothing loaded from elsewhere.
 *
 * @param finished - false for a study that still runs: the page says so
 */
export function reportPage(
  plan: StudyPlan,
  gathered: Gathered,
  summary: StudySummary,
  version: string,
  finished: boolean,
): string {
  const { study } = plan;
  const nameOf = (setting: number) => plan.settings[setting].id;
  const paragraphs = (study.answer ?? '').split(/\n\s*\n/).filter((text) => text.trim() !== '');
  const parts = [
    `<h1>${escaped(study.question)}</h1>`,
    `<p class="note">Study <code>${escaped(study.id)}</code> · hash <code>${plan.hash}</code> · Sweepwise ${escaped(version)} · ${summary.recordingCount} recordings, ${summary.rowCount} rows</p>`,
    finished ? '' : '<p class="warning">Partial results: this study has not finished. Figures below will change.</p>',
    paragraphs.length > 0
      ? `<div class="answer">${paragraphs.map((text) => `<p>${escaped(text)}</p>`).join('')}</div>`
      : '',
    carryOverPart(plan, summary),
    summary.rowCount > 0 ? rankingPart(plan, summary) : '<p>No rows yet.</p>',
    ...(summary.rowCount > 0 ? figureParts(plan, gathered, summary, nameOf) : []),
    summary.rowCount > 0 ? comparisonPart(plan, summary) : '',
    summary.rowCount > 0 ? cellPart(plan, summary) : '',
    `<h2>Methods</h2><p>${methodsSentences(plan, summary, version).map(escaped).join(' ')}</p>`,
    '<p class="note">Teaching simulation: model values, not normative, not for clinical decisions.</p>',
  ];
  return [
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    `<title>${escaped(study.question)}</title><style>${STYLE}</style></head><body><main>`,
    ...parts.filter((part) => part !== ''),
    '</main></body></html>\n',
  ].join('\n');
}

function carryOverPart(plan: StudyPlan, { carryOver }: StudySummary): string {
  if (!carryOver) return '';
  const { chosen, train, test, warning } = carryOver;
  const line = (title: string, comparison: Comparison | null) =>
    comparison ? `<tr><td>${title}</td><td>${effectText(comparison)}</td><td>${comparison.count}</td></tr>` : '';
  return [
    '<h2>The choice, and whether it carries over</h2>',
    `<p>Chosen on the train scenarios: <b>${escaped(plan.settings[chosen].id)}</b>, by ${escaped(plan.choose.measure.label.toLowerCase())}.</p>`,
    warning ? `<p class="warning"><b>Warning.</b> ${escaped(warning)}</p>` : '',
    train || test
      ? `<table><tr><th></th><th>against ${escaped(plan.settings[plan.reference].id)}</th><th>patients</th></tr>${line('train', train)}${line('sealed test', test)}</table>`
      : '',
  ].join('\n');
}

function rankingPart(plan: StudyPlan, summary: StudySummary): string {
  const shown = summary.ranking.slice(0, MOST_ROWS);
  const rows = shown.map(({ setting, keepsResponse }, k) => {
    const weighed = summary.tradeOffs.find((point) => point.setting === setting);
    const cells = weighed
      ? [
          numberText(weighed.secondsToTarget),
          numberText(weighed.bias),
          percent(weighed.catastropheRate),
          percent(weighed.frontShare),
        ]
      : ['–', '–', '–', '–'];
    const name = escaped(plan.settings[setting].id);
    return `<tr><td>${k + 1}. ${name}</td>${cells.map((cell) => `<td>${cell}</td>`).join('')}<td>${keepsResponse ? 'yes' : 'no'}</td></tr>`;
  });
  const more =
    summary.ranking.length > shown.length ? `; ${summary.ranking.length - shown.length} more in summary.csv` : '';
  return [
    `<h2>Settings, the best first by ${escaped(plan.choose.measure.label.toLowerCase())}</h2>`,
    `<div class="scroll"><table><caption>Over all train conditions${more}.</caption>`,
    '<tr><th>setting</th><th>time to target, s</th><th>|gain − 1|</th><th>catastrophes</th><th>on the front</th><th>response kept</th></tr>',
    `${rows.join('')}</table></div>`,
  ].join('\n');
}

function figureParts(
  plan: StudyPlan,
  gathered: Gathered,
  summary: StudySummary,
  nameOf: (setting: number) => string,
): string[] {
  const [main] = plan.measures;
  const ranked = summary.ranking.map(({ setting }) => setting);
  const compared = [...new Set([plan.reference, ...ranked])].slice(0, 12);
  const curves = plan.measures.flatMap((measure) => [
    ...parameterCurves(plan, gathered, measure),
    ...breakdownCurves(plan, gathered, measure, compared),
  ]);
  const best = ranked[0] ?? plan.reference;
  const bars = sensitivities(plan, gathered, main, best);
  return [
    ...curves.filter((set) => set.curves.length > 0).map((set) => curvePart(plan, set)),
    bars.length > 1
      ? figure(
          intervalFigure(
            `What matters most for ${nameOf(best)}`,
            `${main.label}: ${bars[0].isRatio ? 'ratio' : 'difference'} high / low`,
            bars.slice(0, 20).map(({ path, effect, contrast }) => ({ name: path, effect, note: contrast })),
            bars[0].isRatio,
            true,
          ),
          `Sensitivity of "${nameOf(best)}": how ${main.label.toLowerCase()} changes from the low end of each thing to its high end, with 95 % intervals.`,
        )
      : '',
    summary.tradeOffs.length > 1
      ? figure(
          tradeOffFigure(summary.tradeOffs, nameOf),
          'Time to target, bias and catastrophic rate (size of the disc). Rings: no other setting is as good in all three and better in one. Ellipses: 95 % of the resampled patients.',
        )
      : '',
  ];
}

function curvePart(plan: StudyPlan, set: CurveSet): string {
  const unit = unitOf(plan, set);
  const breaks = set.curves
    .filter(({ noiseDoublesAt, gainIsOffAt }) => noiseDoublesAt !== undefined && gainIsOffAt !== undefined)
    .map(({ label, noiseDoublesAt, gainIsOffAt }) => {
      const cell = (value: number | null | undefined) => (value == null ? 'never here' : numberText(value));
      return `<tr><td>${escaped(label)}</td><td>${cell(noiseDoublesAt)}</td><td>${cell(gainIsOffAt)}</td></tr>`;
    });
  const table = breaks.length
    ? `<table><caption>Breakdown: ${escaped(set.axis)} at which …</caption><tr><th></th><th>the noise has doubled</th><th>the response is a tenth off</th></tr>${breaks.join('')}</table>`
    : '';
  const caption = `${set.measure.label} against ${set.axis} (${set.title}), with 95 % intervals over patients.`;
  return `${figure(curveFigure(set, unit), caption)}${set.measure === plan.measures[0] ? table : ''}`;
}

function unitOf({ settings, outside }: StudyPlan, { kind, axis, title }: CurveSet): string {
  if (kind === 'condition') return scenarioKey(axis)?.unit ?? '';
  const id = settings.find((setting) => setting.strategy === title)?.strategy;
  if (id === undefined) return '';
  const strategy = [...outside.values()].find((own) => own.id === id) ?? averagingStrategy(id);
  return strategy.parameters.properties[axis]?.unit ?? '';
}

function comparisonPart(plan: StudyPlan, { comparisons }: StudySummary): string {
  const pooled = plan.measures.flatMap((measure) => {
    const own = comparisons.filter((entry) => entry.measure === measure);
    const together = own.filter(({ condition }) => condition === null);
    return [{ measure, entries: together.length > 0 ? together : own }];
  });
  return pooled
    .filter(({ entries }) => entries.length > 0)
    .map(({ measure, entries }) => {
      const shown = entries.slice(0, MOST_ROWS);
      const isRatio = measure.scale === 'log';
      const rows = shown.map((entry) => ({
        name: plan.settings[entry.setting].id,
        effect: entry.effect,
        note: effectText(entry),
      }));
      const reference = plan.settings[plan.reference].id;
      const axisName = isRatio
        ? `ratio to ${reference}`
        : `difference from ${reference}${measure.unit ? `, ${measure.unit}` : ''}`;
      const table = shown.map(
        (entry) =>
          `<tr><td>${escaped(plan.settings[entry.setting].id)}</td><td>${effectText(entry)}</td><td>${entry.count}</td><td>${pText(entry.p)}</td><td>${pText(entry.adjustedP)}</td></tr>`,
      );
      return [
        `<h2>${escaped(measure.label)}: paired with ${escaped(reference)}</h2>`,
        figure(
          intervalFigure(`${measure.label}, paired`, axisName, rows, isRatio, false),
          `Same patients, same sweeps; 95 % intervals.`,
        ),
        `<div class="scroll"><table><tr><th>setting</th><th>${isRatio ? 'ratio' : 'difference'}</th><th>patients</th><th>p</th><th>p, adjusted</th></tr>${table.join('')}</table></div>`,
      ].join('\n');
    })
    .join('\n');
}

function cellPart(plan: StudyPlan, { cells }: StudySummary): string {
  const shown = cells.slice(0, 4 * MOST_ROWS);
  const header = plan.measures.map(
    ({ label, unit, centre }) => `<th>${escaped(label)}${unit ? `, ${unit}` : ''} (${centre})</th>`,
  );
  const rows = shown.map(({ condition, setting, count, measures, catastrophe, catastropheCount }) => {
    const { id, part } = plan.conditions[condition];
    const figures = measures.map(
      ({ value, low, high }) => `<td>${numberText(value)} (${numberText(low)} … ${numberText(high)})</td>`,
    );
    const rate = `${catastropheCount}/${count} (${percent(catastrophe.low)} … ${percent(catastrophe.high)})`;
    return `<tr><td>${escaped(id)}${part === 'test' ? ' (sealed)' : ''}</td><td class="word">${escaped(plan.settings[setting].id)}</td>${figures.join('')}<td>${rate}</td></tr>`;
  });
  const more = cells.length > shown.length ? ` ${cells.length - shown.length} more in summary.csv.` : '';
  return [
    '<h2>Every setting in every condition</h2>',
    `<div class="scroll"><table><caption>With 95 % intervals; catastrophes with exact ones.${more}</caption>`,
    `<tr><th>condition</th><th>setting</th>${header.join('')}<th>catastrophes</th></tr>${rows.join('')}</table></div>`,
  ].join('\n');
}

function effectText({ effect, isRatio }: Comparison): string {
  const sign = isRatio ? '× ' : '';
  return `${sign}${numberText(effect.value)} (${numberText(effect.low)} … ${numberText(effect.high)})`;
}

function figure(drawing: string, caption: string): string {
  return `<figure>${drawing}<figcaption>${escaped(caption)}</figcaption></figure>`;
}

function percent(share: number): string {
  return Number.isNaN(share) ? '–' : `${(100 * share).toFixed(share > 0 && share < 0.1 ? 1 : 0)} %`;
}

function pText(p: number): string {
  return p < 0.0001 ? '&lt; 0.0001' : p.toPrecision(2);
}
