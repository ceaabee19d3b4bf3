/** How a set lies, and what is said before one is hidden: in the app and on the phone. */
export const lying = {
  'hidden.caution.sacks': 'Never bury a person. Bury stuffed sacks, with padding round the set that a probe does not go through.',
  'hidden.caution.list': 'One named person keeps the list of hidden sets and stays. At the end all sets are counted and the pits filled.',
  'hidden.caution.confirm': 'Confirm that each set transmits before it is hidden. Gear is in use, not worn.',
  'burial.upright': 'upright',
  'burial.level': 'level, {axis}',
  'axis.0': 'north to south',
  'axis.1': 'north-north-east to south-south-west',
  'axis.2': 'north-east to south-west',
  'axis.3': 'east-north-east to west-south-west',
  'axis.4': 'east to west',
  'axis.5': 'east-south-east to west-north-west',
  'axis.6': 'south-east to north-west',
  'axis.7': 'south-south-east to north-north-west',
} as const
