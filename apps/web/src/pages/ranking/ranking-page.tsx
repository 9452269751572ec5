import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';

export const RankingPage = () => <PageTitle text={t.nav.ranking} />;
