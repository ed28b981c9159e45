"""Pairs of photos: proposed by the program, confirmed or changed by the user, compared with progress."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.return_check import confirm_pair, pairs_of, photos_of, put_pair, take_apart, unpaired
from condition.flow.return_run import begin_comparing, begin_pairing, progress, stop
from condition.pages.frame import again, desk, picture, plain, told
from condition.records.photo import Photo
from condition.records.return_check import ReturnCheck, ReturnPair
from condition.words import say, say_n


def results_ready(check: ReturnCheck) -> bool:
    return any(pair.state == "compared" for pair in pairs_of(desk(), check))


def pairs_block(check: ReturnCheck, arrivals: Callable[[], None] | None = None) -> None:
    """Everything about the pairs, folded away once all are compared, then with the place for further photos."""
    earlier, later = photos_of(desk(), check)
    if not later:
        return
    if not earlier:
        st.info(say("return.no_earlier"))
        return
    pairs = pairs_of(desk(), check)
    doing = progress(desk(), check)
    refused = sum(pair.state == "refused" for pair in pairs)
    if refused:
        st.warning(say_n("returns.n_refused", refused))
    if doing.doing:
        _watch_working(check)
    with st.expander(say("returns.pairs", n=len(pairs)), expanded=not results_ready(check)):
        if arrivals is not None:
            arrivals()
        for pair in pairs:
            _pair_card(check, pair, earlier, later)
        _unpaired(check, earlier)
        _buttons(check, pairs, bool(doing.doing))


@st.fragment(run_every=0.7)
def _watch_working(check: ReturnCheck) -> None:
    now = progress(desk(), check)
    if not now.doing:
        again()
    if now.doing == "pairing":
        st.progress(0.0, say("returns.pairing"))
        return
    st.progress(now.done / now.total, say("returns.comparing", done=now.done, total=now.total))
    if st.button(say("photos.stop"), key="return-stop"):
        stop(desk(), check)


def _pair_card(check: ReturnCheck, pair: ReturnPair, earlier: tuple[Photo, ...], later: tuple[Photo, ...]) -> None:
    photos = {photo.id: photo for photo in (*earlier, *later)}
    before, after = photos.get(pair.before_id), photos.get(pair.after_id)
    if before is None or after is None:
        return
    with st.container(border=True, key=f"return-pair-{pair.id}"):
        left, right, what = st.columns([1, 1, 3], gap="small")
        left.markdown(picture(f"/bench/thumb/{before.id}", before.caption or before.file_name))
        right.markdown(picture(f"/bench/thumb/{after.id}", after.caption or after.file_name))
        with what:
            st.markdown(f"**{plain(before.file_name)}** → **{plain(after.file_name)}**")
            _state(pair)
            ids = [photo.id for photo in earlier]
            st.selectbox(
                say("returns.compare_with"),
                ids,
                ids.index(before.id),
                format_func=lambda photo_id: photos[photo_id].caption or photos[photo_id].file_name,
                key=f"with-{pair.id}",
                on_change=partial(_compare_with, desk(), check, pair, after, photos),
            )
            others = [None, *(photo.id for photo in later if photo.id != after.id)]
            if len(others) > 1:
                st.selectbox(
                    say("returns.again"),
                    others,
                    others.index(pair.again_id) if pair.again_id in others else 0,
                    format_func=lambda key: say("returns.none") if key is None else photos[key].file_name,
                    help=say("returns.again_help"),
                    key=f"again-{pair.id}",
                    on_change=partial(_again, desk(), check, pair, before, after, photos),
                )
            yes, no = st.columns(2)
            if not pair.confirmed and yes.button(
                say("returns.confirm"), key=f"confirm-{pair.id}", type="primary", width="stretch"
            ):
                with told():
                    confirm_pair(desk(), pair)
                    again()
            if no.button(say("returns.take_apart"), key=f"apart-{pair.id}", width="stretch"):
                with told():
                    take_apart(desk(), pair)
                    again()


def _state(pair: ReturnPair) -> None:
    if pair.state == "refused":
        st.error(plain(say(pair.refused[0], **dict(pair.refused[1]))))
    elif pair.state == "compared":
        st.caption(
            say(
                "returns.compared",
                overlap=round(100 * pair.overlap),
                share=round(100 * pair.share),
                residual=f"{pair.residual_px:.1f}",
            )
        )
        for code, values in pair.advice:
            st.caption(plain(say(code, **dict(values))))
    elif pair.state == "waiting":
        st.caption(say("returns.waiting"))
    elif pair.confirmed:
        st.caption(say("returns.confirmed"))
    else:
        st.caption(say("returns.proposed", n=pair.likeness))


def _compare_with(at: Desk, check: ReturnCheck, pair: ReturnPair, after: Photo, photos: dict[str, Photo]) -> None:
    with told():
        put_pair(at, check, after, photos[st.session_state[f"with-{pair.id}"]])


def _again(
    at: Desk, check: ReturnCheck, pair: ReturnPair, before: Photo, after: Photo, photos: dict[str, Photo]
) -> None:
    with told():
        again = st.session_state[f"again-{pair.id}"]
        put_pair(at, check, after, before, again=photos[again] if again else None)


def _unpaired(check: ReturnCheck, earlier: tuple[Photo, ...]) -> None:
    alone_before, alone_after = unpaired(desk(), check)
    names = {photo.id: photo for photo in earlier}
    for photo in alone_after:
        with st.container(border=True, key=f"return-alone-{photo.id}"):
            left, what = st.columns([1, 4], gap="small")
            left.markdown(picture(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))
            with what:
                st.markdown(say("returns.alone", file=plain(photo.file_name)))
                st.selectbox(
                    say("returns.compare_with"),
                    list(names),
                    index=None,
                    placeholder=say("returns.choose_earlier"),
                    format_func=lambda photo_id: names[photo_id].caption or names[photo_id].file_name,
                    key=f"alone-with-{photo.id}",
                    on_change=partial(_pair_alone, desk(), check, photo, names),
                )
    if alone_before:
        st.caption(say("returns.not_again", files=", ".join(plain(photo.file_name) for photo in alone_before)))


def _pair_alone(at: Desk, check: ReturnCheck, photo: Photo, names: dict[str, Photo]) -> None:
    with told():
        put_pair(at, check, photo, names[st.session_state[f"alone-with-{photo.id}"]])


def _buttons(check: ReturnCheck, pairs: tuple[ReturnPair, ...], busy: bool) -> None:
    look, confirm, compare = st.columns(3)
    if look.button(say("returns.look_for_pairs"), key="look-for-pairs", disabled=busy, width="stretch"):
        with told():
            begin_pairing(desk(), check)
            again()
    unsaid = [pair for pair in pairs if not pair.confirmed]
    if unsaid and confirm.button(say_n("returns.confirm_all", len(unsaid)), key="confirm-all", width="stretch"):
        with told():
            for pair in unsaid:
                confirm_pair(desk(), pair)
            again()
    ready = [pair for pair in pairs if pair.confirmed]
    fresh = [pair for pair in ready if pair.state != "compared"]
    words = say_n("returns.compare", len(fresh)) if fresh else say("returns.compare_again")
    if ready and compare.button(words, key="compare-pairs", disabled=busy, type="primary", width="stretch"):
        with told():
            begin_comparing(desk(), check, anew=not fresh)
            again()
