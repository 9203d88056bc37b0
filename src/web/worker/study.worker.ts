import { backgroundsOf } from '../../study/backgrounds.ts';
import { gatherRows } from '../../study/gathered.ts';
import { planStudy, type StudyPlan } from '../../study/plan.ts';
import { reportBody } from '../../study/report/body.ts';
import { reportPage } from '../../study/report/page.ts';
import { outsideOfHead } from '../../study/resultsFile.ts';
import { type Backgrounds, rowsOfBlock } from '../../study/runBlock.ts';
import { StudyError } from '../../study/studyError.ts';
import { summarise } from '../../study/summary.ts';
import { csvLine } from '../../study/tables/csv.ts';
import { summaryRows } from '../../study/tables/summaryTables.ts';
import type { ReportOrder, StudyReport } from '../model/studySession.ts';
import type { StudyReply, StudyRequest } from './studyEngine.ts';

let open: { plan: StudyPlan; version: string; backgrounds: Backgrounds } | null = null;

addEventListener('message', ({ data }: MessageEvent<StudyRequest>) => {
  const reply = (message: StudyReply) => postMessage(message);
  try {
    if (data.kind === 'open') {
      const { order, version, bytes } = data;
      const plan = planStudy(order.study, order.files);
      const backgrounds = backgroundsOf(plan, ({ name }) => {
        const own = bytes.get(name);
        if (!own) throw new StudyError(`background.files: ${name} must be opened together with the study, got nothing`);
        return own;
      });
      open = { plan, version, backgrounds };
    } else if (data.kind === 'block') {
      if (!open) throw new Error('study worker: must be given a study before a block, got none');
      reply({ kind: 'rows', rows: rowsOfBlock(open.plan, data.block, open.version, open.backgrounds) });
    } else reply({ kind: 'report', report: reportOf(data.order) });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});

function reportOf({ head, entries, finished }: ReportOrder): StudyReport {
  const { version } = head;
  const plan = planStudy(head.study, head.files, outsideOfHead(head));
  const gathered = gatherRows(plan);
  for (const { block, rows } of entries) gathered.add(block, rows);
  const summary = summarise(plan, gathered);
  return {
    body: reportBody(plan, gathered, summary, version, finished),
    page: reportPage(plan, gathered, summary, version, finished),
    summaryCsv: `${summaryRows(plan, summary, version).map(csvLine).join('\n')}\n`,
  };
}
