import { render } from 'preact';
import { App } from './app/app.js';
import { applyTheme } from './prefs/theme.js';
import './styles/tokens.css';
import './styles/base.css';
import './styles/frame.css';
import './styles/kit.css';
import './styles/facts.css';
import './styles/print.css';

applyTheme();
const root = document.getElementById('app');
if (root) render(<App />, root);
