import { t } from '../../text/text.js';
import type { QueryViews } from './shapes.js';

/** Views with their columns, what they mean and in which unit; a press puts the name into the statement. */
export const ViewList = ({ views, onChoose }: { views: QueryViews; onChoose: (name: string) => void }) => (
  <details class="card">
    <summary>{t.query.views}</summary>
    <p class="quiet">{t.query.viewsLead}</p>
    {views.views.map((view) => (
      <details key={view.name} class="view">
        <summary>
          <code>{view.name}</code>
        </summary>
        <p class="quiet">{view.comment}</p>
        <ul>
          {view.columns.map((column) => (
            <li key={column.name}>
              <button type="button" class="plain" onClick={() => onChoose(column.name)}>
                <code>{column.name}</code>
              </button>{' '}
              <span class="quiet" title={t.query.columnFrom(column.source)}>
                {column.meaning}
                {column.unit === null ? '' : ` [${column.unit}]`}
              </span>
            </li>
          ))}
        </ul>
      </details>
    ))}
  </details>
);
