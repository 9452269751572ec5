import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';

export const ReadinessPage = () => <PageTitle text={t.nav.readiness} />;
