"""'Share with phones' on the page about the service: starts and stops sharing on the network."""

from __future__ import annotations

from html import escape
from urllib.parse import parse_qs

from fastapi import Request

from coldfield.errors import BadInput, ColdfieldError, Refused, UnknownRecord
from coldfield.files.code_picture import code_picture
from coldfield.message import Value, message
from coldfield.web.hut.gate import Hut, hut_of
from coldfield.web.hut.sharing import Sharing
from coldfield.web.listening import own_address
from coldfield.words import say, word

MOST_BYTES = 4000


def section(request: Request, sharing: Sharing, fault: ColdfieldError | None = None) -> str:
    """Return the part of the page about sharing, in the current language."""
    through = hut_of(request.scope)
    hut = through or sharing.hut
    if hut is not None:
        return _shared(hut, can_end=through is None and sharing.began_here, can_leave=through is not None)
    return _form(fault) if sharing.can_begin else _by_command()


def _shared(hut: Hut, *, can_end: bool, can_leave: bool) -> str:
    plain = "" if hut.is_secret else f'<p class="caution">{_said("hut_page.plain_http")}</p>'
    end = _button("/service/unshare", "hut_page.end") if can_end else ""
    picture = _said("hut_page.picture", address=hut.address)
    leave = _button("/logout", "hut_page.leave") if can_leave else ""
    return f"""<h2>{_said("hut_page.share")}</h2>
<p>{_said("hut_page.shared")} <a href="{escape(hut.address)}">{escape(hut.address)}</a></p>
<div class="code" role="img" aria-label="{picture}">{_drawn(hut.address)}</div>
{plain}
<p>{_said("hut_page.codes")}</p>
{end}{leave}"""


def _drawn(text: str) -> str:
    code = code_picture(text)
    return f'<svg viewBox="0 0 {code.size} {code.size}"><path d="{code.path}"/></svg>'


def _button(to: str, code: str) -> str:
    return f'<form method="post" action="{to}"><button>{escape(word(code))}</button></form>'


def _by_command() -> str:
    command = escape(f"coldfield serve --host {own_address() or 'ADDRESS'}")
    return f"""<h2>{_said("hut_page.share")}</h2>
<p>{_said("hut_page.by_command")} <code>{command}</code></p>"""


def _form(fault: ColdfieldError | None) -> str:
    lines = fault.placed() if isinstance(fault, BadInput) else [fault.message] if fault is not None else []
    told = "".join(f'<p role="alert" class="bad">{escape(say(one))}</p>' for one in lines)
    return f"""<h2 id="share">{_said("hut_page.share")}</h2>
<p>{_said("hut_page.what")}</p>
{told}
<form method="post" action="/service/share">
<label for="host">{_said("hut_page.host")}</label>
<input id="host" name="host" required value="{escape(own_address())}">
<label for="passphrase">{_said("hut_page.new_passphrase")}</label>
<input id="passphrase" name="passphrase" type="password" autocomplete="new-password" required minlength="10">
<button>{_said("hut_page.begin")}</button>
</form>
<p class="caution">{_said("hut_page.own_network")}</p>"""


def _said(code: str, **values: Value) -> str:
    return escape(word(code, **values))


async def begun(request: Request, sharing: Sharing) -> ColdfieldError | None:
    """Start sharing with the values of a form; return its faults."""
    body = await request.body()
    told = parse_qs(body[:MOST_BYTES].decode("utf-8", "replace"), keep_blank_values=True)
    host, passphrase = (told.get(name, [""])[0].strip() for name in ("host", "passphrase"))
    try:
        await sharing.begin(request.app, host, passphrase)
    except (BadInput, Refused) as error:
        return error
    return None


def refuse_from_network(request: Request) -> None:
    """Refuse to start or stop sharing from anywhere but the machine itself.

    Raises
    ------
    UnknownRecord
        If the request comes from the network.
    """
    if hut_of(request.scope) is not None:
        raise UnknownRecord(message("fault.no_address"))
