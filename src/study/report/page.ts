import type { Gathered } from '../gathered.ts';
import type { StudyPlan } from '../plan.ts';
import type { StudySummary } from '../summary.ts';
import { reportBody } from './body.ts';
import { escaped } from './svg.ts';

const STYLE = `
:root{color-scheme:light}
body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#1b1b1b;background:#fff}
h1{font-size:1.6rem;margin-bottom:.2rem}h2{font-size:1.2rem;margin-top:2.2rem}
table{border-collapse:collapse;font-size:.85rem;font-variant-numeric:tabular-nums;margin:.8rem 0}
th,td{padding:.25rem .6rem;border-bottom:1px solid #ddd;text-align:right}th{vertical-align:bottom}
th:first-child,td:first-child,td.word{text-align:left}caption{text-align:left;padding:.3rem 0;color:#444}
figure{margin:1.2rem 0}figcaption{font-size:.9rem;color:#444}svg{max-width:100%;height:auto}summary{cursor:pointer;font-size:.9rem}svg text{font:12px system-ui,sans-serif;fill:#1b1b1b}
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
  const { question } = plan.study;
  return [
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    `<title>${escaped(question)}</title><style>${STYLE}</style></head><body><main>`,
    `<h1>${escaped(question)}</h1>`,
    reportBody(plan, gathered, summary, version, finished),
    '</main></body></html>\n',
  ].join('\n');
}
