// The words of tests that several pages say: what a rule is called, and one sentence for each name that a
// caution's `say` may have ("caution_args" beside "cautions" in a result).
import { register } from './words.js';

register({
  en: {
    'rule.pass-fail': 'what you saw',
    'rule.range': 'a reading within limits',
    'rule.pressure-decay': 'pressure decay',
    'rule.vacuum-decay': 'vacuum decay of a vessel',
    'rule.vessel-decay': 'pressure decay of a vessel',
    'rule.back-pressure': 'back pressure',
    'rule.vapor-liquid-ratio': 'vapor to liquid ratio',
    'rule.liquid-removal': 'liquid removal',
    'rule.flow-rate': 'flow rate',
    'rule.continuity': 'continuity',
    'rule.hose-length': 'length of the hose',
    'rule.meter-draft': 'error of the meter',
    'rule.leak-detector': 'line leak detector',
    'rule.spill': 'report of a spill',
    'rule.torque-applied': 'torque at the fastener',
    'cautions.looser-min':
      'The min of {min} given is looser than the rule’s own limit, which holds.',
    'cautions.looser-max':
      'The max of {max} given is looser than the rule’s own limit, which holds.',
    'cautions.one-certification':
      '{min} to {max} is the window of one certification: give min and max of yours.',
    'cautions.pressure-zero':
      'A back pressure of exactly 0 is suspicious: see that nitrogen flows, and that the gauge is connected and its valve open.',
    'cautions.flow-unsaid': 'The flow was not said: the ratio is of 6 to 10 gpm alone.',
    'cautions.hose-defective': 'At or below {max} the hose is defective and stays out of service.',
    'cautions.one-run': 'One run does not show how far runs differ: make at least two.',
    'cautions.runs-differ': 'The runs differ by {value} in³, more than {max} in³: it fails.',
    'cautions.leak-not-found': 'The detector did not find the leak: it fails.',
    'cautions.sheen': 'A sheen on water nearby: it must be reported, whatever was spilled.',
    'cautions.uncleaned': 'Not cleaned up in {max} h: it must be reported, whatever was spilled.',
    'cautions.sheen-unsaid': 'Not said: sheen. A sheen is reported whatever was spilled.',
    'cautions.hours-unsaid':
      'Not said: hours. {max} h without its being cleaned up is reported whatever was spilled.',
    'cautions.wrench-below': 'The setting is below the least mark of the wrench.',
    'cautions.wrench-beyond': 'The setting is beyond the wrench.',
    'cautions.wrench-large':
      'The setting is below {max} % of the wrench’s full scale; take a smaller wrench.',
  },
  es: {
    'rule.pass-fail': 'lo que usted vio',
    'rule.range': 'una lectura dentro de límites',
    'rule.pressure-decay': 'decaimiento de presión',
    'rule.vacuum-decay': 'decaimiento de vacío de un recipiente',
    'rule.vessel-decay': 'decaimiento de presión de un recipiente',
    'rule.back-pressure': 'contrapresión',
    'rule.vapor-liquid-ratio': 'relación vapor a líquido',
    'rule.liquid-removal': 'retiro de líquido',
    'rule.flow-rate': 'caudal',
    'rule.continuity': 'continuidad',
    'rule.hose-length': 'largo de la manguera',
    'rule.meter-draft': 'error del medidor',
    'rule.leak-detector': 'detector de fugas de la línea',
    'rule.spill': 'aviso de un derrame',
    'rule.torque-applied': 'par en la tuerca',
    'cautions.looser-min':
      'El mínimo dado, {min}, es menos estricto que el límite de la propia regla, que es el que vale.',
    'cautions.looser-max':
      'El máximo dado, {max}, es menos estricto que el límite de la propia regla, que es el que vale.',
    'cautions.one-certification':
      'De {min} a {max} es la ventana de una sola certificación: dé el mínimo y el máximo de la suya.',
    'cautions.pressure-zero':
      'Una contrapresión de exactamente 0 es sospechosa: vea que fluya el nitrógeno y que el manómetro esté conectado y con su válvula abierta.',
    'cautions.flow-unsaid': 'No se dijo el caudal: la relación vale solo de 6 a 10 gpm.',
    'cautions.hose-defective':
      'En {max} o menos la manguera está defectuosa y queda fuera de servicio.',
    'cautions.one-run': 'Una sola medición no muestra cuánto difieren entre sí: haga al menos dos.',
    'cautions.runs-differ': 'Las mediciones difieren en {value} in³, más de {max} in³: no pasa.',
    'cautions.leak-not-found': 'El detector no encontró la fuga: no pasa.',
    'cautions.sheen':
      'Película brillante sobre agua cercana: se tiene que informar, sin importar cuánto se derramó.',
    'cautions.uncleaned':
      'Sin limpiar en {max} h: se tiene que informar, sin importar cuánto se derramó.',
    'cautions.sheen-unsaid':
      'No se dijo si hay película sobre agua cercana: una película se informa sin importar cuánto se derramó.',
    'cautions.hours-unsaid':
      'No se dijeron las horas: {max} h sin limpiar se informan sin importar cuánto se derramó.',
    'cautions.wrench-below': 'El ajuste queda debajo de la primera marca de la llave.',
    'cautions.wrench-beyond': 'El ajuste pasa de lo que da la llave.',
    'cautions.wrench-large':
      'El ajuste queda debajo del {max} % de la escala de la llave; tome una llave más chica.',
  },
});
