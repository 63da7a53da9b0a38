// What stands in a page's place when it may not be seen.
import { register } from './words.js';

register({
  en: {
    'plain.not-yours': 'This site is not one of yours',
    'plain.not-yours.how': 'Your token is good, but not for this. Ask your manager if it should be.',
    'plain.not-there': 'There is nothing here',
    'plain.not-there.how': 'The address names a site or position that is not there. Scan the label again.',
    'plain.live': 'Until you see its state, treat the dispenser as live.',
    'plain.board': 'To the board',
  },
  es: {
    'plain.not-yours': 'Este sitio no es uno de los suyos',
    'plain.not-yours.how': 'Su inscripción es válida, pero no para esto. Pregunte a su encargado si debe serlo.',
    'plain.not-there': 'Aquí no hay nada',
    'plain.not-there.how': 'La dirección nombra un sitio o una posición que no existe. Lea la etiqueta otra vez.',
    'plain.live': 'Hasta que vea su estado, trate el dispensador como energizado.',
    'plain.board': 'A la pantalla del sitio',
  },
});
