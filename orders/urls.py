from django.contrib.auth.views import LogoutView
from django.urls import path

from orders.languages import translated
from orders.views import (
    catalogue,
    customers,
    fabrics,
    language,
    lines,
    order,
    orders,
    people,
    promise,
    revisions,
    start,
    systems,
)

urlpatterns = [
    path("", start.start, name="start"),
    path("sign-in/", translated(start.SignIn.as_view()), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("language/", language.language, name="language"),
    path("orders/", orders.orders, name="orders"),
    path("orders/new/", order.order_new, name="order-new"),
    path("orders/<int:number>/", order.order, name="order"),
    path("orders/<int:number>/edit/", order.order_edit, name="order-edit"),
    path("orders/<int:number>/confirm/", order.order_confirm, name="order-confirm"),
    path("orders/<int:number>/promise/", promise.order_promise, name="order-promise"),
    path("orders/<int:number>/back-to-draft/", order.order_back_to_draft, name="order-back-to-draft"),
    path("orders/<int:number>/cancel/", order.order_cancel, name="order-cancel"),
    path("orders/<int:number>/collected/", order.order_collected, name="order-collected"),
    path("orders/<int:number>/delivered/", order.order_delivered, name="order-delivered"),
    path("orders/<int:number>/lines/new/", lines.line_new, name="line-new"),
    path("orders/<int:number>/lines/<int:position>/", lines.line, name="line"),
    path("orders/<int:number>/lines/<int:position>/remove/", lines.line_remove, name="line-remove"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer-new"),
    path("customers/found/", customers.customers_found, name="customers-found"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/edit/", customers.customer_edit, name="customer-edit"),
    path("catalogue/", catalogue.catalogue, name="catalogue"),
    path("catalogue/fabrics/new/", fabrics.fabric_new, name="fabric-new"),
    path("catalogue/fabrics/<int:pk>/", fabrics.fabric, name="fabric"),
    path("catalogue/fabrics/<int:pk>/offer/", fabrics.fabric_offer, name="fabric-offer"),
    path("catalogue/fabrics/<int:pk>/remove/", fabrics.fabric_remove, name="fabric-remove"),
    path("catalogue/new/", systems.system_new, name="system-new"),
    path("catalogue/import/", systems.system_import, name="system-import"),
    path("catalogue/systems/<slug:system>/", systems.system, name="system"),
    path("catalogue/systems/<slug:system>/retire/", systems.system_retire, name="system-retire"),
    path("catalogue/systems/<slug:system>/draft/", systems.draft_new, name="draft-new"),
    path("catalogue/systems/<slug:system>/<int:revision>/", revisions.revision, name="revision"),
    path("catalogue/systems/<slug:system>/<int:revision>/edit/", revisions.revision_edit, name="revision-edit"),
    path(
        "catalogue/systems/<slug:system>/<int:revision>/publish/", revisions.revision_publish, name="revision-publish"
    ),
    path(
        "catalogue/systems/<slug:system>/<int:revision>/discard/", revisions.revision_discard, name="revision-discard"
    ),
    path("catalogue/systems/<slug:system>/<int:revision>/file/", revisions.revision_file, name="revision-file"),
    path("people/", people.people, name="people"),
    path("people/new/", people.person_new, name="person-new"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.person_password, name="person-password"),
]
