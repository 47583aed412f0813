"""Files dropped on a window, as a file manager drops them: the source's side of XDND.

Source: "Drag-and-Drop Protocol for the X Window System", version 5 (freedesktop.org), and RFC 8089 for the addresses.
"""

import pathlib
import time

from Xlib import X, Xatom, display as x11
from Xlib.protocol import event

from screen import Failed

VERSION = 5


def drop(on, paths, x, y, within_s=20):
    """On the window of the display named so, at that point of the screen. Returns when the window says that it took them."""
    connection = x11.Display(on)
    try:
        _drop(connection, [pathlib.Path(path).resolve().as_uri() for path in paths], x, y, time.monotonic() + within_s)
    finally:
        connection.close()


def _drop(connection, addresses, x, y, end):
    atom = connection.intern_atom
    root = connection.screen().root
    targets = [w for w in root.query_tree().children if w.get_full_property(atom("XdndAware"), Xatom.ATOM)]
    if len(targets) != 1:
        raise Failed(f"{len(targets)} windows take what is dropped")
    target = targets[0]
    source = root.create_window(0, 0, 1, 1, 0, connection.screen().root_depth)
    selection, as_list = atom("XdndSelection"), atom("text/uri-list")
    source.set_selection_owner(selection, X.CurrentTime)

    def say(what, *data):
        words = [source.id, *data] + [0] * (4 - len(data))
        target.send_event(event.ClientMessage(window=target, client_type=atom(what), data=(32, words)))
        connection.flush()

    def wait_for(what):
        """The message of that name; requests for the dropped files are answered meanwhile."""
        while time.monotonic() < end:
            if not connection.pending_events():
                time.sleep(0.02)
                continue
            came = connection.next_event()
            if came.type == X.SelectionRequest:
                came.requestor.change_property(came.property, as_list, 8, "".join(a + "\r\n" for a in addresses).encode())
                came.requestor.send_event(event.SelectionNotify(
                    time=came.time, requestor=came.requestor, selection=came.selection, target=came.target, property=came.property))
                connection.flush()
            elif came.type == X.ClientMessage and came.client_type == atom(what):
                return came.data[1]
        raise Failed(f"the window never answers with {what}")

    say("XdndEnter", VERSION << 24, as_list)
    say("XdndPosition", 0, x << 16 | y, X.CurrentTime, atom("XdndActionCopy"))
    if not wait_for("XdndStatus")[1] & 1:
        raise Failed("the window takes nothing here")
    say("XdndDrop", 0, X.CurrentTime)
    if not wait_for("XdndFinished")[1]:  # the lowest bit by the protocol; GLFW writes how many bytes it took
        raise Failed("the window did not take what was dropped")
