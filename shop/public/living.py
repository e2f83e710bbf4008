from shop.pages import page
from shop.parts import samples
from shop.people import doors


@doors.staff()
def parts(request):
    return page(request, "parts/index.html", samples())
