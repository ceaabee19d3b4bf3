"""Compiled loops that come with the program: LLVM bitcode, translated by each machine of the same kind.

numba takes half a minute to compile the loops from source, of which LLVM's translation of the bitcode takes
one second. `python -m coldfield.app.ship_loops` writes the bitcode of each loop into a file, whose name
contains a digest of the loop's source text and the kind of machine. The translated machine code is cached on
the machine. If there is no such file, numba compiles the loop. Both give the same results.
"""

from __future__ import annotations

import ctypes
import lzma
import os
import platform
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import cached_property
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import llvmlite
import llvmlite.binding as llvm
import numpy as np

from coldfield.compiled_place import STAMP, folder_of, is_kept

FOLDER = "loops"
"""The folder of the files in the package."""

C_LIBRARY = (
    *(
        "acos",
        "asin",
        "atan",
        "atan2",
        "cos",
        "cosf",
        "exp",
        "expf",
        "fmod",
        "hypot",
        "hypotf",
        "log",
        "logf",
    ),
    *("memcpy", "memmove", "memset", "pow", "powf", "sin", "sinf", "sqrt", "sqrtf", "tan"),
)
"""The external functions that a loop may call, all from the C library."""

MACHINE = f"{sys.platform}-{platform.machine().lower()}-{8 * ctypes.sizeof(ctypes.c_void_p)}"
"""The kind of this machine."""

_Address = ctypes.c_void_p
_DIGEST = sha256().digest_size


LOOPS: list[Loop] = []
"""Every loop of the loaded modules."""


class Loop:
    """A compiled function without a return value, from its shipped file or compiled by numba.

    Parameters
    ----------
    dispatcher
        The result of `numba.njit` for a function with a stamp (`coldfield.compiled_place`).
    """

    by_numba = False
    """True: ignore the shipped file of one loop or, on the class, of all loops."""

    def __init__(self, dispatcher: Any) -> None:
        LOOPS.append(self)
        self.dispatcher = dispatcher
        self.called_with = ""
        """Kinds of the values that numba's form was first called with."""

    def __call__(self, *values: Any) -> None:
        """Call the loop with arrays, named tuples of arrays, integers and floats."""
        shipped = None if self.by_numba else self._shipped
        if shipped is not None and shipped.takes(_kinds(values)):
            shipped(values)
            return
        if self.by_numba:
            self.called_with = self.called_with or _kinds(values)
        self.dispatcher(*values)

    @property
    def ready(self) -> bool:
        """Whether it can be used without waiting for the compiler."""
        return (self._shipped is not None and not self.by_numba) or is_kept(self.dispatcher)

    @property
    def file_name(self) -> str:
        """The name of its file for this kind of machine and the current source text."""
        function = self.dispatcher.py_func
        return f"{function.__name__}-{getattr(function, STAMP)[:16]}-{MACHINE}.xz"

    @cached_property
    def _shipped(self) -> _Shipped | None:
        kept = files("coldfield").joinpath(FOLDER, self.file_name)
        # A file that this LLVM cannot read is treated like a missing one.
        with suppress(OSError, lzma.LZMAError, EOFError, RuntimeError, ValueError):
            return _Shipped(kept, folder_of(self.dispatcher.py_func))
        return None


class _Shipped:
    """One loop, translated from its shipped file."""

    def __init__(self, kept: Traversable, folder: Path | None) -> None:
        head, _, bitcode = lzma.decompress(kept.read_bytes()).partition(b"\n")
        self._kinds, _, symbol = head.decode().partition(" ")
        self._known = {self._kinds}
        # Keep both as long as the loop, because they own the machine code.
        self._engine, self._machine = _engine(bitcode, folder)
        self._address = self._engine.get_function_address(symbol)
        self._calls: Callable[..., int] | None = None

    def takes(self, kinds: str) -> bool:
        """Return whether it was compiled for values of these kinds."""
        if kinds not in self._known:
            own, given = self._kinds.split(","), kinds.split(",")
            if len(own) != len(given) or not all(map(_fits, own, given)):
                return False
            self._known.add(kinds)
        return True

    def __call__(self, values: tuple[Any, ...]) -> None:
        flat = _flat(values)
        if self._calls is None:
            kinds = [ctypes.c_double if isinstance(one, float) else ctypes.c_int64 for one in flat]
            self._calls = ctypes.CFUNCTYPE(ctypes.c_int32, _Address, _Address, *kinds)(self._address)
        nothing, fault = _Address(), _Address()
        status = self._calls(ctypes.byref(nothing), ctypes.byref(fault), *flat)
        if status not in (0, -2):
            raise RuntimeError(f"a compiled loop ended with {status}")


def _engine(bitcode: bytes, folder: Path | None) -> tuple[Any, Any]:
    """Return the loop for this processor, from the cache folder or translated and cached."""
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
    machine = llvm.Target.from_default_triple().create_target_machine(
        cpu=cpu, features=features, opt=3, codemodel="jitdefault"
    )
    engine = llvm.create_mcjit_compiler(llvm.parse_bitcode(bitcode), machine)
    if folder is not None:
        by = sha256(f"{llvmlite.__version__} {cpu} {features} ".encode() + bitcode).hexdigest()
        place = folder / f"{by[:16]}.object"
        engine.set_object_cache(lambda _module, made: _keep(place, made), lambda _module: _kept(place))
    engine.finalize_object()
    return engine, machine


def _keep(place: Path, made: bytes) -> None:
    """Write machine code after its digest, completely or not at all."""
    writing = place.with_suffix(f".{os.getpid()}")
    with suppress(OSError):
        writing.write_bytes(sha256(made).digest() + made)
        writing.replace(place)
    with suppress(OSError):
        writing.unlink(missing_ok=True)


def _kept(place: Path) -> bytes | None:
    """Return what `_keep` wrote, None if it is missing or damaged."""
    with suppress(OSError):
        content = place.read_bytes()
        digest, made = content[:_DIGEST], content[_DIGEST:]
        return made if sha256(made).digest() == digest else None
    return None


def _kinds(values: tuple[Any, ...]) -> str:
    """Return the kinds of values as a word without spaces."""
    return ",".join(map(_kind, values))


def _kind(value: Any) -> str:
    if isinstance(value, np.ndarray):
        layout = "C" if value.flags.c_contiguous else "A"
        kind = value.dtype.str if value.dtype.names is None else f"{value.dtype.itemsize}r"
        return f"{kind}{value.ndim}{layout}{'' if value.flags.writeable else 'r'}"
    if isinstance(value, tuple):
        return _kinds(value)
    return "f" if isinstance(value, float) else "i" if isinstance(value, int | np.integer) else "?"


def _fits(own: str, given: str) -> bool:
    """Return whether one kind accepts another: any layout accepts rows, read-only accepts both."""
    as_rows = own.rstrip("r").removesuffix("A") == given.rstrip("r").removesuffix("C")
    same = own.rstrip("r") == given.rstrip("r")
    return (same or as_rows) and (own.endswith("r") or not given.endswith("r"))


def _flat(values: tuple[Any, ...]) -> list[int | float]:
    """Return values as numba passes them: for an array two empty owners, then its data and shape."""
    told: list[int | float] = []
    for value in values:
        if isinstance(value, np.ndarray):
            told += (0, 0, value.size, value.itemsize, value.ctypes.data, *value.shape, *value.strides)
        elif isinstance(value, tuple):
            told += _flat(value)
        else:
            told.append(value if isinstance(value, float) else int(value))
    return told


def shipped_form(loop: Loop) -> bytes:
    """Return the content of the file for a loop that numba has just compiled and called on this machine.

    Raises
    ------
    ValueError
        If the loop calls a function that is not in the C library.
    """
    dispatcher = loop.dispatcher
    signature = dispatcher.signatures[0]
    symbol = dispatcher.overloads[signature].fndesc.llvm_func_name
    module = llvm.parse_assembly(dispatcher.inspect_llvm(signature))
    for function in module.functions:
        if not function.is_declaration and function.name != symbol:
            function.linkage = "internal"
    for value in module.global_variables:
        if not value.is_declaration:
            value.linkage = "internal"
    _drop_unused(module)
    foreign = {
        one.name for one in module.functions if one.is_declaration and not one.name.startswith("llvm.")
    }
    foreign |= {one.name for one in module.global_variables if one.is_declaration}
    if foreign - set(C_LIBRARY):
        raise ValueError(f"{dispatcher.py_func.__name__} calls {sorted(foreign - set(C_LIBRARY))}")
    head = f"{loop.called_with} {symbol}\n".encode()
    return lzma.compress(head + module.as_bitcode(), preset=9)


def _drop_unused(module: llvm.ModuleRef) -> None:
    machine = llvm.Target.from_default_triple().create_target_machine()
    passes = llvm.create_new_module_pass_manager()
    passes.add_global_dead_code_eliminate_pass()
    passes.add_strip_dead_prototype_pass()
    passes.run(module, llvm.create_pass_builder(machine, llvm.create_pipeline_tuning_options(speed_level=0)))
