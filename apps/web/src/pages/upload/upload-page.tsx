import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';

export const UploadPage = () => <PageTitle text={t.nav.upload} />;
