import '../styles/site.css';
import { tellStaleness } from './staleness.ts';

tellStaleness(document, Date.now());
// A page left open overnight must not stay green.
setInterval(() => tellStaleness(document, Date.now()), 60_000);
