// The words of what hangs at a position.
import { register } from './words.js';

register({
  en: {
    'hangs.title': 'What hangs here',
    'hangs.days': '{days} d',
    'hangs.months': '{months} mo',
    'hangs.years': '{years} y',
    'hangs.years-months': '{years} y {months} mo',
    'hangs.family': 'family {family}',
    'hangs.serial': 'serial {serial}',
    'hangs.due': 'good until {due}',
    'hangs.overdue': 'OVERDUE since {due}',
    'hangs.again': '{times} times in {days} days',
  },
  es: {
    'hangs.title': 'Lo que cuelga aquí',
    'hangs.days': '{days} d',
    'hangs.months': '{months} meses',
    'hangs.years': '{years} a',
    'hangs.years-months': '{years} a {months} meses',
    'hangs.family': 'familia {family}',
    'hangs.serial': 'serie {serial}',
    'hangs.due': 'vale hasta {due}',
    'hangs.overdue': 'VENCIDO desde {due}',
    'hangs.again': '{times} veces en {days} días',
  },
});
