"""What files of the same layers share is written once: that shows in none of them."""

import io

import ezdxf
import pytest

from hidewright.drawing import dxf
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.geometry.shapes import circle, rectangle

CUT = Layer(name="cut")
OTHER = Layer(name="score", style="dashed")


def drawing(title: str, wide: float, *layers: Layer) -> Drawing:
    strokes = [Stroke(curve=rectangle(wide, 20.0), layer=layer) for layer in layers]
    strokes.append(Stroke(curve=circle(3.0), layer=layers[0]))
    words = Text(words=title, at=(1.0, 2.0), layer=layers[0])
    return Drawing(title=title, strokes=tuple(strokes), texts=(words,))


def test_a_file_is_the_same_alone_and_after_others_of_its_layers() -> None:
    ones = [drawing("one", 30.0, CUT), drawing("two", 70.5, CUT), drawing("three", 9.0, CUT, OTHER)]
    alone = []
    for one in ones:
        dxf._frame.cache_clear()
        alone.append(to_dxf(one))
    dxf._frame.cache_clear()
    assert [to_dxf(one) for one in (*ones, *ones[::-1])] == [*alone, *alone[::-1]]
    assert len(set(alone)) == len(ones)


@pytest.mark.parametrize("sheet", [(600.0, 400.0), None])
def test_a_viewer_is_told_how_large_a_drawing_is_and_finds_no_error(
    sheet: tuple[float, float] | None,
) -> None:
    one = drawing("one", 30.0, CUT, OTHER)
    one = Drawing(title="one", strokes=one.strokes, texts=one.texts, sheet=sheet)
    read = ezdxf.read(io.StringIO(to_dxf(one).decode()))
    assert not read.audit().has_errors
    left, bottom, right, top = one.extent
    for low, high in (("$EXTMIN", "$EXTMAX"), ("$LIMMIN", "$LIMMAX")):
        assert tuple(read.header[low])[:2] == pytest.approx((left, bottom), abs=1e-6)
        assert tuple(read.header[high])[:2] == pytest.approx((right, top), abs=1e-6)
    handles = [int(entity.dxf.handle, 16) for entity in read.modelspace()]
    assert len(set(handles)) == len(handles) == 4
    assert max(handles) < int(read.header["$HANDSEED"], 16)
    view = read.viewports.get("*Active")[0]
    assert tuple(view.dxf.center)[:2] == pytest.approx(
        ((left + right) / 2, (bottom + top) / 2), abs=1e-6
    )
