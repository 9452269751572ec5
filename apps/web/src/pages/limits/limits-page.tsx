import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';

export const LimitsPage = () => <PageTitle text={t.nav.limits} />;
