"""Write the keys of the English catalogue as a type for the front end.

python design/write_words_keys.py frontend/src/words/keys.d.ts
"""

import sys
from pathlib import Path

from coldfield.words import catalogue

keys = "\n".join(f"  | '{code}'" for code in sorted(catalogue("en")))
Path(sys.argv[1]).write_text(
    f"/** Every key of the catalogues. */\nexport type Key =\n{keys}\n", encoding="utf-8"
)
