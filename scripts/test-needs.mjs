// What the tests need beside Node's packages, as a table: how to see it, and the Debian package that brings it.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';

const KAFKA_NEEDS_JAVA = 17;

/** @type {import('./test-needs.d.mts').Need[]} */
export const NEEDS = [
  {
    name: `Java ${KAFKA_NEEDS_JAVA} or later, to run the Kafka broker`,
    isThere: () => javaVersion() >= KAFKA_NEEDS_JAVA,
    packages: ['openjdk-17-jre-headless', 'openjdk-21-jre-headless', 'default-jre-headless'],
  },
  {
    name: 'Maven, to fetch the Kafka broker',
    isThere: () => answers('mvn', ['--version']),
    packages: ['maven'],
  },
  {
    name: 'the PostgreSQL server',
    isThere: () => hasPostgres('/usr/lib/postgresql'),
    packages: ['postgresql'],
  },
  {
    name: 'the Chromium browser, to use the page',
    isThere: () => answers('chromium', ['--version']),
    packages: ['chromium', 'chromium-browser'],
  },
];

/**
 * Sees what is missing and brings it, where it may: root (or sudo without a password) on Debian or Ubuntu.
 * Says what it installs before it does. @returns {boolean} whether everything is there now
 */
export function bringNeeds(needs = NEEDS, say = console.log) {
  const missing = needs.filter((need) => !need.isThere());
  if (missing.length === 0) return true;
  say(`The tests need what this machine lacks:\n${missing.map((need) => `  - ${need.name}`).join('\n')}`);
  const asRoot = rootPrefix();
  if (!asRoot) {
    say(
      `Install it and run again. On Debian or Ubuntu: sudo apt-get install ${packagesOf(missing, () => true).join(' ')}`,
    );
    return false;
  }
  apt(asRoot, ['update'], say);
  const packages = packagesOf(missing, isOffered);
  say(`Installing now: apt-get install ${packages.join(' ')}`);
  apt(asRoot, ['install', '-y', '--no-install-recommends', ...packages], say);
  const still = missing.filter((need) => !need.isThere());
  for (const need of still) say(`Still missing: ${need.name} (package ${need.packages.join(' or ')})`);
  return still.length === 0;
}

/** One package for each need: the first that the distribution offers. */
export const packagesOf = (needs, offered) => needs.map((need) => need.packages.find(offered) ?? need.packages[0]);

/** How a command is run as root here; null where nothing may be installed. */
function rootPrefix() {
  if (process.env.TALLYBAY_NO_INSTALL || !existsSync('/etc/debian_version')) return null;
  if (process.getuid?.() === 0) return [];
  return answers('sudo', ['-n', 'true']) ? ['sudo', '-n'] : null;
}

function apt(asRoot, args, say) {
  const [command, ...rest] = [...asRoot, 'env', 'DEBIAN_FRONTEND=noninteractive', 'apt-get', ...args];
  const { status } = spawnSync(command, rest, { stdio: 'inherit' });
  if (status !== 0) say(`apt-get ${args[0]} ended with code ${status}`);
}

const isOffered = (name) =>
  spawnSync('apt-cache', ['show', '--no-all-versions', name], { stdio: 'ignore' }).status === 0;
const answers = (command, args) => spawnSync(command, args, { stdio: 'ignore' }).status === 0;

function javaVersion() {
  const { stderr, stdout } = spawnSync('java', ['-version'], { encoding: 'utf8' });
  const match = /version "(\d+)(?:\.(\d+))?/.exec(`${stderr}${stdout}`);
  // Up to Java 8 versions were written 1.8.
  return match ? Number(match[1] === '1' ? match[2] : match[1]) : 0;
}

const hasPostgres = (folder) =>
  existsSync(folder) && readdirSync(folder).some((version) => existsSync(`${folder}/${version}/bin/initdb`));
