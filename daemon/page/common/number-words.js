// The words of numbers: why one cannot be taken, how one was understood, what its limits are.
import { register } from './words.js';

register({
  en: {
    'number.form': 'Only digits and one decimal mark, as in 8500 or 8.5.',
    'number.two-ways': 'This can be read in two ways. Write {whole} or {parts}.',
    'number.one-way': 'Three digits behind the mark can be read in two ways. Write {parts}.',
    'number.large': 'This is larger than any reading.',
    'number.understood': 'Understood: {reading}',
    'number.sent': 'This is sent:',
    'limit.between': 'from {min} to {max}',
    'limit.most': 'at most {max}',
    'limit.least': 'at least {min}',
    'limit.more': 'more than {min}',
    'number.sign': 'Change the sign',
    'limit.margin': 'margin {margin}',
    'limit.out': '{value}: OUT OF LIMITS',
    'torque.at-nut': '{reading} on the wrench is {value} at the nut',
    'unit.converted': '{reading} is {value}',
  },
  es: {
    'number.form': 'Solo cifras y una marca decimal, como 8500 u 8.5.',
    'number.two-ways': 'Esto se puede leer de dos maneras. Escriba {whole} o {parts}.',
    'number.one-way': 'Tres cifras tras la marca se pueden leer de dos maneras. Escriba {parts}.',
    'number.large': 'Esto es mayor que cualquier lectura.',
    'number.understood': 'Se entiende: {reading}',
    'number.sent': 'Se envía esto:',
    'limit.between': 'de {min} a {max}',
    'limit.most': 'como máximo {max}',
    'limit.least': 'como mínimo {min}',
    'limit.more': 'más de {min}',
    'number.sign': 'Cambiar el signo',
    'limit.margin': 'margen {margin}',
    'limit.out': '{value}: FUERA DE LÍMITES',
    'torque.at-nut': '{reading} en la llave son {value} en la tuerca',
    'unit.converted': '{reading} son {value}',
  },
});
